"""Level spacing: gaps that follow the written values (springs) and never let things touch (rods).

The method is the usual one of engraving programs' literature: J. Gourlay, "Spacing a Line of Music", Ohio State
University technical report, 1987 (from memory). Longer values get more room, but less than in proportion.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

QUARTER_GAP = 40.0  # natural room of a quarter note, units
GROWTH = 0.56  # a doubled value gets 2 ** 0.56 = 1.5 times the room (common practice: 1.4 to 1.6)
NARROWEST_GAP = 13.0
AFTER_BARLINE = 12.0  # to the first thing of the bar
STIFF_START = 1.25  # the gap after a bar line stretches no further than this


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a thing at a node reaches to both sides, in a layer where neighbours must not touch.

    Node 0 is the bar line before the bar, 1 to n its slots, n + 1 the bar line after it.
    """

    layer: str
    node: int
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class BarSpace:
    """Gaps of one bar from bar line to bar line: natural ones and the least."""

    ideals: tuple[float, ...]
    rods: tuple[float, ...]

    @property
    def natural(self) -> float:
        """Width when nothing is stretched."""
        return sum(self.gaps(1.0))

    @property
    def least(self) -> float:
        """Width when squeezed as far as it goes."""
        return sum(self.rods)

    def gaps(self, force: float) -> tuple[float, ...]:
        """Return the gaps when the springs are stretched by ``force``."""
        first = max(self.rods[0], self.ideals[0] * min(force, STIFF_START))
        rest = (max(rod, force * ideal) for rod, ideal in zip(self.rods[1:], self.ideals[1:], strict=True))
        return (first, *rest)


def bar_space(lengths: Sequence[Fraction], reaches: Iterable[Reach], pads: Mapping[str, float]) -> BarSpace:
    """Return the gaps of a bar whose slots last ``lengths`` quarters; ``pads`` is the air between things by layer."""
    ideals = [AFTER_BARLINE, *(natural_gap(length) for length in lengths)]
    rods = [AFTER_BARLINE * 0.8] + [NARROWEST_GAP] * len(lengths)
    layers: dict[str, list[Reach]] = {}
    for reach in reaches:
        layers.setdefault(reach.layer, []).append(reach)
    wanted: list[tuple[int, int, float]] = []
    for layer, members in layers.items():
        edge = [Reach(layer, 0, 0.0, 0.0), *sorted(members, key=lambda r: r.node), Reach(layer, len(ideals), 0.0, 0.0)]
        for before, after in pairwise(edge):
            wanted.append((before.node, after.node, before.right + after.left + pads[layer]))
    for start, end, distance in sorted(wanted, key=lambda want: want[1] - want[0]):
        _widen(rods, ideals, start, end, distance)
    return BarSpace(tuple(ideals), tuple(rods))


def natural_gap(length: Fraction) -> float:
    """Return the room a value gets when nothing is stretched.

    >>> round(natural_gap(Fraction(1)), 1), round(natural_gap(Fraction(1, 2)), 1)
    (40.0, 27.1)
    """
    return max(NARROWEST_GAP, QUARTER_GAP * float(length) ** GROWTH)


def force_for(bars: Sequence[BarSpace], width: float) -> float:
    """Return the force at which bars fill a width; 0 when they are as tight as they go."""
    low, high = 0.0, 1.0
    while sum(sum(bar.gaps(high)) for bar in bars) < width and high < 1e4:
        high *= 2.0
    for _ in range(40):
        middle = (low + high) / 2.0
        if sum(sum(bar.gaps(middle)) for bar in bars) < width:
            low = middle
        else:
            high = middle
    return low


def _widen(rods: list[float], ideals: Sequence[float], start: int, end: int, distance: float) -> None:
    """Raise the least gaps between two nodes so that they are ``distance`` apart, the springy ones most."""
    lack = distance - sum(rods[start:end])
    if lack <= 0:
        return
    weights = [ideals[gap] for gap in range(start, end)]
    for gap, weight in zip(range(start, end), weights, strict=True):
        rods[gap] += lack * weight / sum(weights)
