"""Line breaks: which bars share a system, so that all lines are about equally full and no bar stands alone."""

from __future__ import annotations

from collections.abc import Sequence

from transcribe.write.engraver.spacing import BarSpace

NEARLY_FULL = 0.72  # a last line at least this full is justified like the others
SQUEEZE_COST = 3.0  # squeezing looks worse than stretching
ORPHAN_COST = 1.5  # one bar alone on the last line of several
SHORT_LAST = 0.35  # a last line emptier than this looks forgotten
LINE_COST = 0.04


def break_lines(bars: Sequence[BarSpace], first_width: float, other_width: float) -> tuple[tuple[int, int], ...]:
    """Return the lines as (first bar, one past the last), the best of all divisions.

    Widths are those left for music after clef and signatures. The search minimises the summed badness of the lines,
    after D. E. Knuth and M. F. Plass, "Breaking Paragraphs into Lines", Software: Practice and Experience 11, 1981.
    A bar too wide for any line gets one to itself.
    """
    count = len(bars)
    best: list[tuple[float, int]] = [(0.0, 0)] + [(float("inf"), 0)] * count
    for end in range(1, count + 1):
        for start in range(end - 1, -1, -1):
            width = first_width if start == 0 else other_width
            cost = _badness(bars[start:end], width, is_last=end == count, is_only=start == 0 and end == count)
            if cost == float("inf"):
                break
            best[end] = min(best[end], (best[start][0] + cost, start))
    lines: list[tuple[int, int]] = []
    end = count
    while end > 0:
        start = best[end][1]
        lines.append((start, end))
        end = start
    return tuple(reversed(lines))


def _badness(line: Sequence[BarSpace], width: float, *, is_last: bool, is_only: bool) -> float:
    natural = sum(bar.natural for bar in line)
    least = sum(bar.least for bar in line)
    if least > width:
        return 100.0 + least / width if len(line) == 1 else float("inf")
    cost = LINE_COST
    if natural > width:
        room = max(natural - least, 1e-9)
        return cost + SQUEEZE_COST * ((natural - width) / room) ** 2 * 0.2 + SQUEEZE_COST * (natural / width - 1.0) ** 2
    fill = natural / width
    if is_last and not is_only:
        if len(line) == 1:
            cost += ORPHAN_COST
        if fill < NEARLY_FULL:
            return cost + 2.0 * max(0.0, SHORT_LAST - fill)
    if is_only:
        return cost
    return cost + (1.0 / fill - 1.0) ** 2
