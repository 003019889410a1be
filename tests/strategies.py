"""Random but legal music for property tests."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from fingering.fretboard import STANDARD_OPEN_MIDI
from transcribe.notes.note import Bend, Note, Slide, Vibrato

VALUES = (Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(3, 4), Fraction(1), Fraction(3, 2), Fraction(2))


def pitches(frets: int = 22) -> st.SearchStrategy[int]:
    """MIDI notes that a guitar in standard tuning can play."""
    return st.integers(STANDARD_OPEN_MIDI[-1], STANDARD_OPEN_MIDI[0] + frets)


def values() -> st.SearchStrategy[Fraction]:
    """Written lengths in quarter notes: sixteenths to halves, and eighth triplets."""
    return st.sampled_from(VALUES)


def positions(frets: int = 22) -> st.SearchStrategy[tuple[int, int]]:
    """(string, fret) pairs; string 1 is the highest."""
    return st.tuples(st.integers(1, 6), st.integers(0, frets))


@st.composite
def bend_gestures(draw: st.DrawFn, start_s: float, end_s: float) -> tuple[Bend, ...]:
    """A bend, a bend let down, a pre-bend let down, or none, inside the given seconds."""
    shape = draw(st.sampled_from(("none", "bend", "bend+release", "pre-bend+release")))
    if shape == "none":
        return ()
    target = draw(st.sampled_from((50.0, 100.0, 150.0, 200.0, 300.0)))
    reached = target + draw(st.floats(-30, 30))
    span = end_s - start_s
    leave = end_s if shape == "bend" else start_s + 0.6 * span
    first = (
        Bend("pre-bend", start_s, start_s, leave, target, reached)
        if shape.startswith("pre")
        else Bend("bend", start_s + 0.1 * span, start_s + 0.4 * span, leave, target, reached)
    )
    if shape == "bend":
        return (first,)
    return (first, Bend("release", leave, start_s + 0.8 * span, end_s, 0.0, draw(st.floats(0, 20))))


@st.composite
def single_lines(draw: st.DrawFn, *, most: int = 12, bends: bool = True) -> tuple[Note, ...]:
    """One to ``most`` notes in time order that do not overlap, with legal gestures; ids n1, n2, ..."""
    count = draw(st.integers(1, most))
    start_s = draw(st.floats(0, 1))
    notes: list[Note] = []
    for number in range(1, count + 1):
        length_s = draw(st.floats(0.08, 1.2))
        before = notes[-1] if notes else None
        slid_to = before is not None and before.slide is not None
        midi = before.midi + round(before.slide.cents / 100) if slid_to else draw(pitches(18))
        gestures = draw(bend_gestures(start_s, start_s + length_s)) if bends and midi > 52 and not slid_to else ()
        slides_on = not gestures and not slid_to and number < count and draw(st.booleans())
        cents = 100.0 * draw(st.sampled_from((-2, -1, 1, 2, 3))) if slides_on and midi > 43 else 100.0
        notes.append(
            Note(
                id=f"n{number}",
                onset_s=start_s,
                offset_s=start_s + length_s,
                midi=midi,
                cents=draw(st.floats(-10, 10)),
                confidence=draw(st.floats(0, 1)),
                attack="slide" if slid_to else "picked",
                bends=gestures,
                slide=Slide("legato", cents, f"n{number + 1}") if slides_on else None,
                vibrato=draw(st.none() | st.builds(Vibrato, st.floats(3, 8), st.floats(5, 60))),
                mute="none" if gestures or slides_on or slid_to else draw(st.sampled_from(("none", "palm"))),
            )
        )
        start_s += length_s + (0.0 if slides_on else draw(st.floats(0, 0.3)))
    return tuple(notes)
