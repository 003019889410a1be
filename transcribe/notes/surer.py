"""A single line heard twice: by one tracked pitch and by the maps of several voices.

The confidences of both are shares of notes that are right, learned on made takes; from them follows the F each may
expect. Mostly the two are told as one (``fused``); a line that doubts itself leaves the take to the several voices.
"""

from __future__ import annotations

from dataclasses import replace

from transcribe.notes.doubts import NOTE
from transcribe.notes.fused import LEAST_TOGETHER, SAME_S, fused, told_under
from transcribe.notes.hear import Heard
from transcribe.notes.note import Doubt, Note

# When the two were first told as one, F rose from .977 to .982 on 150 made takes of single lines with any limit from
# .85 to .94; the lowest of these leaves the line, whose gestures are read finer, most often in its place.
LEAST_EXPECTED = 0.85
OF_ONE_STRING = {12: "an octave", 19: "a twelfth", 24: "two octaves"}  # from a note to its next partials, in semitones
TOLD_ALL_THE_SAME = 0.9  # a partial this sure to be a note is left out, but not in silence


def better(line: Heard, several: Heard) -> Heard:
    """Return both hearings of a line in one; the several voices alone where the line doubts itself and they less.

    What the several voices hear an octave, a twelfth or two octaves from a surer note, begun with it, is in a line more
    often its partial than another string: only where it is all but certain is it counted and kept, and where it is
    likely the note that stays is doubted.
    """
    kept = _without_partials(several)
    sure = [_sure(heard) for heard in (line, kept)]
    played = max(sum(each) for each in sure)
    expected = [2 * sum(each) / max(1e-9, len(each) + played) for each in sure]
    told = kept if expected[0] < min(LEAST_EXPECTED, expected[1]) else fused(line, kept)
    names = {note.id for note in kept.notes}
    left_out = [
        n for n in told_under(told, several).notes if n.id not in names and (n.confidence or 0.0) >= TOLD_ALL_THE_SAME
    ]
    doubts = tuple(doubt for note in left_out for doubt in _second_string(note, told))
    return replace(told, doubts=(*told.doubts, *doubts)) if doubts else told


def _second_string(left_out: Note, told: Heard) -> tuple[Doubt, ...]:
    """A doubt about the note that a partial was taken to belong to."""
    near = [note for note in told.notes if _begin_together(note, left_out)]
    if any(note.midi == left_out.midi for note in near):
        return ()
    for note in near:
        apart = left_out.midi - note.midi
        if abs(apart) in OF_ONE_STRING:
            where = f"{OF_ONE_STRING[abs(apart)]} {'above' if apart > 0 else 'below'}"
            return (Doubt(f"perhaps another string sounds with it, {where}", note.id, about=NOTE),)
    return ()


def _without_partials(several: Heard) -> Heard:
    gone = {
        note.id
        for note in several.notes
        if (note.confidence or 0.0) < LEAST_TOGETHER and any(_partial_of(note, other) for other in several.notes)
    }
    kept = tuple(
        replace(note, slide=None) if note.slide is not None and note.slide.to in gone else note
        for note in several.notes
        if note.id not in gone
    )
    doubts = tuple(doubt for doubt in several.doubts if doubt.note not in gone)
    grounds = {name: each for name, each in several.grounds.items() if name not in gone}
    return replace(several, notes=kept, doubts=doubts, grounds=grounds) if gone else several


def _partial_of(note: Note, other: Note) -> bool:
    surer = (other.confidence or 0.0, -other.midi) > (note.confidence or 0.0, -note.midi)
    return _begin_together(note, other) and surer and abs(note.midi - other.midi) in OF_ONE_STRING


def _begin_together(note: Note, other: Note) -> bool:
    return abs(note.onset_s - other.onset_s) <= SAME_S and "dead" not in (note.mute, other.mute)


def _sure(heard: Heard) -> list[float]:
    """How sure each note is; dead notes have no pitch to be sure of."""
    return [note.confidence or 0.0 for note in heard.notes if note.mute != "dead"]
