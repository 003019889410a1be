"""Lines of text tab for the hands: the name of each note, by which it can be fixed, its fretting finger, its stroke."""

from __future__ import annotations

from collections.abc import Sequence

from transcribe.document.model import TakeNote
from transcribe.write.tab_stems import Row

# Signs of the picking hand, of bowed strings at first (common practice); fingers keep their letters p i m a.
STROKES = {"down": "⊓", "pick": "⊓", "up": "V"}

Placed = Sequence[tuple[int, Sequence[TakeNote]]]  # text column of a beat, and the notes struck there, highest first


def name_row(placed: Placed, width: int) -> str:
    """Return the line of note names; of names that would touch, the later is left out and can be counted on to."""
    row, free = Row(width), 0
    for x, takes in placed:
        name = takes[0].id if takes else ""
        if name and x >= free and x + len(name) <= width:
            row.put(x, name)
            free = x + len(name) + 1
    return row.text


def finger_rows(placed: Placed, width: int) -> list[str]:
    """Return the lines of fingers under the strings: 1 to 4, 0 for an open string; a chord's from high to low."""
    most = max((len(takes) for _, takes in placed), default=0)
    rows = [Row(width) for _ in range(most)]
    for x, takes in placed:
        fingers = [take.placement.finger for take in takes if take.placement is not None]
        for row, finger in zip(rows, fingers, strict=False):
            row.put(x, "" if finger is None else str(finger))
    return [row.text for row in rows if row.text]


def stroke_row(placed: Placed, width: int) -> str:
    """Return the line of picking strokes; a chord played with several fingers tells them from high to low."""
    row = Row(width)
    for x, takes in placed:
        strokes = [take.placement.stroke for take in takes if take.placement is not None and take.placement.stroke]
        signs = [STROKES.get(stroke, stroke) for stroke in strokes]
        row.put(x, signs[0] if len(set(signs)) == 1 else "".join(signs))
    return row.text
