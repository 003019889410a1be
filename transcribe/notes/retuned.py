"""Notes as they are told when the guitar's tuning is taken to be another: each sounds where it sounded."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from transcribe.notes.intonation import nearest_size_cents
from transcribe.notes.note import Bend, Contour, Note

SEMITONE_CENTS = 100.0


def around_cents(cents: float) -> float:
    """Return an interval on the circle of one semitone, from -50 up to 50 cents: there a tuning stands.

    >>> around_cents(49.0 - -49.0)
    -2.0
    """
    return (cents + 50.0) % SEMITONE_CENTS - 50.0


def retuned(notes: Iterable[Note], from_cents: float, to_cents: float) -> tuple[Note, ...]:
    """Return notes told against a guitar ``from_cents`` sharp as told against one ``to_cents`` sharp.

    Two tunings near both ends of the circle are near each other: between them note numbers move by one. So does a note
    that its new tuning leaves nearer to the next semitone.
    """
    before = tuple(notes)
    if from_cents == to_cents:
        return before
    shift = around_cents(from_cents - to_cents)
    step = round((from_cents - to_cents - shift) / SEMITONE_CENTS)
    steps = {note.id: _within(step + _past_halfway(note.cents, shift), note.midi) for note in before}
    return tuple(_moved(note, shift + SEMITONE_CENTS * (step - steps[note.id]), steps) for note in before)


def _past_halfway(cents: float | None, shift: float) -> int:
    crossed = cents is not None and abs(cents) <= 50.0 < abs(cents + shift)
    return round((cents + shift) / SEMITONE_CENTS) if cents is not None and crossed else 0


def _within(step: int, midi: int) -> int:
    return step if 0 <= midi + step <= 127 else 0


def _moved(note: Note, cents: float, steps: dict[str, int]) -> Note:
    """The note moved by its steps, with ``cents`` added to what is counted from its fretted pitch."""
    step, slide, contour = steps[note.id], note.slide, note.contour
    if slide is not None and slide.to is not None:
        slide = replace(slide, cents=slide.cents + SEMITONE_CENTS * (steps.get(slide.to, step) - step))
    if contour is not None:
        contour = _contour(contour, cents)
    return replace(
        note,
        midi=note.midi + step,
        cents=None if note.cents is None else round(note.cents + cents, 1),
        bends=tuple(_bend(bend, cents) for bend in note.bends),
        slide=slide,
        contour=contour,
    )


def _contour(contour: Contour, cents: float) -> Contour:
    return replace(contour, cents=tuple(None if c is None else round(c + cents, 1) for c in contour.cents))


def _bend(bend: Bend, cents: float) -> Bend:
    """What was reached is counted anew; so is the target, where it was the bend size nearest to that."""
    reached = bend.reached_cents + cents
    nearest = bend.target_cents == nearest_size_cents(bend.reached_cents)
    return replace(
        bend, reached_cents=reached, target_cents=nearest_size_cents(reached) if nearest else bend.target_cents
    )
