"""Short passages for the score room: notes on a string and fret at a written place, with nothing else to say."""

from __future__ import annotations

from fractions import Fraction

from fingering.fretboard import STANDARD_OPEN_MIDI
from fingering.passage import Placement
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.notes.note import Note
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing
from transcribe.score.score import Score

BEAT_S = 0.5
START_S = 4.0
FOUR_FOUR = Meter(4, 4)


def take_note(text: str, *, meter: Meter = FOUR_FOUR, sounds: str | None = None, **told: object) -> TakeNote:
    """Return one note from ``"at string fret value"``, at and value in quarters; ``sounds`` is how long it is heard.

    Its id is ``string@at``, such as ``3@1/2``.
    """
    at_text, string_text, fret_text, value_text = text.split()
    at, value, string = Fraction(at_text), Fraction(value_text), int(string_text)
    onset_s = START_S + float(at) * BEAT_S
    bar, beat = divmod(at, meter.bar_beats)
    name = f"{string}@{at_text}"
    midi = STANDARD_OPEN_MIDI[string - 1] + int(fret_text)
    note = Note(name, onset_s, onset_s + float(Fraction(sounds or value_text)) * BEAT_S, midi, attack="picked")
    note = Note(**{**{key: getattr(note, key) for key in Note.__dataclass_fields__}, **told})
    return TakeNote(note, Placement(name, string, int(fret_text), None), Timing(int(bar) + 1, beat, value))


def take(*notes: TakeNote | str, meter: str = "4/4", feel: str = "straight") -> TakeDocument:
    """Return a take of notes written from bar 1 on, at 120 quarters a minute."""
    beats, unit = meter.split("/")
    signature = Meter(int(beats), int(unit))
    found = [take_note(note, meter=signature) if isinstance(note, str) else note for note in notes]
    found.sort(key=lambda item: (item.note.onset_s, -item.note.midi))
    return TakeDocument(tuple(found), rhythm=Rhythm(120.0, signature, START_S, Fraction(0), feel, "given"))


def voice_text(score: Score, voice: int) -> list[str]:
    """Return one voice bar by bar: ``3@1/2:1`` for a note and its quarters, r a rest, h a hidden one, ~ tied on."""
    bars = []
    for bar in score.bars:
        words = []
        for event in bar.voices[voice] if voice < len(bar.voices) else ():
            name = "+".join(head.take.id for head in event.notes) or ("h" if event.hidden else "r")
            tied = "~" if any(head.tied_to for head in event.notes) else ""
            words.append(f"{name}:{event.value.quarters}{tied}")
        bars.append(" ".join(words))
    return bars
