"""Which stroke or finger of the picking hand plays each note."""

from __future__ import annotations

from fingering.errors import FingeringError
from fingering.passage import Passage

FLAT_PICK = "flat pick"
PICKING = (FLAT_PICK,)


def strokes_for(
    passage: Passage, spots: tuple[tuple[int, int, int], ...], picking: str = FLAT_PICK
) -> tuple[str | None, ...]:
    """Return a stroke for every pluck, None where the picking hand does nothing.

    Flat pick: down and up in turn; joined notes need no stroke, notes that start together share one, and a rest
    longer than a second starts again with a down-stroke. Common practice.
    """
    if picking not in PICKING:
        raise FingeringError(f"there is no way of picking called '{picking}'", f"Choose one of: {', '.join(PICKING)}.")
    strokes: list[str | None] = []
    last_s, stroke = float("-inf"), "up"
    for pluck, spot in zip(passage.plucks, spots, strict=True):
        if pluck.join != "none" or spot[0] == 0:
            strokes.append(None)
            continue
        if pluck.onset_s - last_s > 0.035:
            stroke = "down" if stroke == "up" or pluck.onset_s - last_s > 1.0 else "up"
            last_s = pluck.onset_s
        strokes.append(stroke)
    return tuple(strokes)
