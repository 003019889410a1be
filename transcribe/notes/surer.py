"""A single line heard twice: by one tracked pitch and by the maps of several voices.

The confidences of both are shares of notes that are right, learned on made takes; from them follows the F each may
expect. Mostly the two are told as one (``fused``); a line that doubts itself leaves the take to the several voices.
"""

from __future__ import annotations

from transcribe.notes.fused import fused
from transcribe.notes.hear import Heard

# When the two were first told as one, F rose from .977 to .982 on 150 made takes of single lines with any limit from
# .85 to .94; the lowest of these leaves the line, whose gestures are read finer, most often in its place.
LEAST_EXPECTED = 0.85


def better(line: Heard, several: Heard) -> Heard:
    """Return both hearings of a line in one; the several voices alone where the line doubts itself and they less."""
    sure = [_sure(heard) for heard in (line, several)]
    played = max(sum(each) for each in sure)
    expected = [2 * sum(each) / max(1e-9, len(each) + played) for each in sure]
    return several if expected[0] < min(LEAST_EXPECTED, expected[1]) else fused(line, several)


def _sure(heard: Heard) -> list[float]:
    """How sure each note is; dead notes have no pitch to be sure of."""
    return [note.confidence or 0.0 for note in heard.notes if note.mute != "dead"]
