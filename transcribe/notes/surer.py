"""A single line heard twice: by one tracked pitch and by the maps of several voices.

The confidences of both are shares of notes that are right, learned on made takes; from them follows the F each may
expect. Mostly the two are told as one (``fused``); a line that doubts itself leaves the take to the several voices.
"""

from __future__ import annotations

from dataclasses import replace

from transcribe.notes.fused import LEAST_TOGETHER, SAME_S, fused
from transcribe.notes.hear import Heard
from transcribe.notes.note import Note

# When the two were first told as one, F rose from .977 to .982 on 150 made takes of single lines with any limit from
# .85 to .94; the lowest of these leaves the line, whose gestures are read finer, most often in its place.
LEAST_EXPECTED = 0.85
OF_ONE_STRING = (12, 19, 24)  # semitones from a note to its second, third and fourth partial


def better(line: Heard, several: Heard) -> Heard:
    """Return both hearings of a line in one; the several voices alone where the line doubts itself and they less.

    What the several voices hear an octave or a twelfth from a surer note, begun with it, is in a line more often its
    partial than another string: only where it is all but certain is it counted and kept.
    """
    several = _without_partials(several)
    sure = [_sure(heard) for heard in (line, several)]
    played = max(sum(each) for each in sure)
    expected = [2 * sum(each) / max(1e-9, len(each) + played) for each in sure]
    return several if expected[0] < min(LEAST_EXPECTED, expected[1]) else fused(line, several)


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
    together = abs(note.onset_s - other.onset_s) <= SAME_S and "dead" not in (note.mute, other.mute)
    surer = (other.confidence or 0.0, -other.midi) > (note.confidence or 0.0, -note.midi)
    return together and surer and abs(note.midi - other.midi) in OF_ONE_STRING


def _sure(heard: Heard) -> list[float]:
    """How sure each note is; dead notes have no pitch to be sure of."""
    return [note.confidence or 0.0 for note in heard.notes if note.mute != "dead"]
