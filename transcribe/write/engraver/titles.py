"""What a screen reader says of each note: where it is, what it is, how it is played."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from transcribe.document.model import TakeNote
from transcribe.notes.note import Bend
from transcribe.rhythm.grid import pulse_beats
from transcribe.score.score import Score, Spelled
from transcribe.write.engraver.links import HeadAt
from transcribe.write.xml_text import sayable

ALTERS = {-2: " double flat", -1: " flat", 0: "", 1: " sharp", 2: " double sharp"}
SIZES = {1: "a quarter tone", 2: "a half tone", 3: "three quarter tones", 4: "a full tone", 5: "five quarter tones",
         6: "one and a half tones", 8: "two tones"}  # fmt: skip
ATTACKS = {"hammer-on": "hammer-on", "pull-off": "pull-off", "slide": "reached by a slide"}
SLIDES = {"legato": "slides on", "shift": "slides on, next note picked", "in": "slide in", "out": "slide out"}
STROKES = {"down": "down stroke", "up": "up stroke"}


def note_title(head: HeadAt, score: Score, doubt: str | None) -> str:
    """Return one line for a note's first head: "bar 2 beat 1: B flat, string 3 fret 8, bend of a full tone"."""
    bar = score.bars[head.slot.bar]
    where = f"bar {bar.number}" if bar.number else "pickup"
    lead = score.meter.bar_beats - bar.length if bar.number == 0 else 0  # a pickup counts the beats it leads in from
    parts = [pitch_words(head.head.note.spelled), *_place_words(head.take), *_play_words(head.take)]
    if head.head.note.touched_fret is not None:
        parts.append(f"touched over fret {head.head.note.touched_fret}")
    if doubt is not None:
        parts.append(f"doubtful: {doubt}" if doubt else "doubtful")
    return sayable(f"{where} beat {beat_words((lead + head.slot.beat) / pulse_beats(score.meter))}: {', '.join(parts)}")


def pitch_words(spelled: Spelled) -> str:
    """Return a note's name as it is spoken.

    >>> pitch_words(Spelled("B", -1, 3))
    'B flat'
    """
    return spelled.step + ALTERS[spelled.alter]


def beat_words(beat: Fraction) -> str:
    """Return a place in the bar, given in beats from its start, as it is spoken, counted from 1.

    >>> beat_words(Fraction(0)), beat_words(Fraction(3, 2)), beat_words(Fraction(1, 3))
    ('1', '2 and 1/2', '1 and 1/3')
    """
    whole, part = divmod(beat, 1)
    return f"{whole + 1} and {part}" if part else f"{whole + 1}"


def bend_words(bends: Sequence[Bend]) -> list[str]:
    """Return the bends of a note as they are spoken."""
    words = []
    for bend in bends:
        size = SIZES.get(max(1, round(bend.target_cents / 50.0)), f"{bend.target_cents / 200.0:.2g} tones")
        if bend.kind == "release":
            words.append("released" if bend.target_cents < 25 else f"released to {size}")
        else:
            words.append(f"{bend.kind} of {size}")
    return words


def _place_words(take: TakeNote) -> list[str]:
    place = take.placement
    if place is None:
        return ["not placed on the neck"]
    words = [f"string {place.string} " + (f"fret {place.fret}" if place.fret else "open")]
    if place.finger:
        words.append(f"finger {place.finger}")
    if place.stroke:
        words.append(STROKES.get(place.stroke, f"picking finger {place.stroke}"))
    return words


def _play_words(take: TakeNote) -> list[str]:
    note = take.note
    words = [ATTACKS[note.attack]] if note.attack in ATTACKS else []
    if note.mute != "none":
        words.append("palm muted" if note.mute == "palm" else "dead note")
    if note.harmonic != "none":
        words.append(f"{note.harmonic} harmonic")
    words += bend_words(note.bends)
    if note.slide is not None:
        words.append(SLIDES[note.slide.kind])
    if note.vibrato is not None:
        words.append("vibrato")
    if note.let_ring:
        words.append("let ring")
    if take.degree:
        words.append(f"degree {take.degree}")
    if take.tone:
        words.append(take.tone)
    return words
