"""Where labels go so that no two touch: in a column beside a plot, and in rows above it."""

from __future__ import annotations

from collections.abc import Sequence


def in_a_column(wanted: Sequence[float], height: float, *, top: float, bottom: float) -> list[float]:
    """Return middles near the wanted ones, in the same order, at least ``height`` apart, inside top to bottom.

    When there is no room for all, the column runs over the bottom rather than let two labels touch.

    >>> in_a_column([10.0, 12.0], 6.0, top=0.0, bottom=100.0)
    [8.0, 14.0]
    """
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    clusters: list[tuple[float, list[int]]] = []  # first middle, labels
    for k in order:
        first, members = wanted[k], [k]
        first = max(first, top + height / 2)
        while clusters and clusters[-1][0] + height * len(clusters[-1][1]) > first:
            members = clusters.pop()[1] + members
            centre = sum(wanted[m] for m in members) / len(members)
            first = max(centre - height * (len(members) - 1) / 2, top + height / 2)
        clusters.append((first, members))
    middles = [0.0] * len(wanted)
    for first, members in clusters:
        for step, k in enumerate(members):
            middles[k] = first + height * step
    limit = bottom - height / 2
    for k in reversed(order):  # push up what hangs over the bottom
        middles[k] = min(middles[k], limit)
        limit = middles[k] - height
    limit = top + height / 2
    for k in order:
        middles[k] = max(middles[k], limit)
        limit = middles[k] + height
    return middles


def in_rows(
    centres: Sequence[float], widths: Sequence[float], *, left: float, right: float, gap: float
) -> list[tuple[float, int]]:
    """Return the left edge and row (0 is nearest the plot) of each label, none touching another in its row.

    Labels are taken from left to right; each goes into the lowest row with room at its place.

    >>> in_rows([10.0, 20.0], [15.0, 15.0], left=0.0, right=100.0, gap=2.0)
    [(2.5, 0), (12.5, 1)]
    """
    places: list[tuple[float, int]] = [(0.0, 0)] * len(centres)
    ends: list[float] = []
    for k in sorted(range(len(centres)), key=lambda k: centres[k]):
        start = max(left, min(centres[k] - widths[k] / 2, right - widths[k]))
        row = next((r for r, end in enumerate(ends) if start >= end + gap), len(ends))
        if row == len(ends):
            ends.append(0.0)
        ends[row] = start + widths[k]
        places[k] = (start, row)
    return places
