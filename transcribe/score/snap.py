"""Written places that this notation can write: 32nds, and triplets down to sixteenths, one kind in each half beat."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.rhythm import Meter

FINE = Fraction(1, 8)
SIXTH = Fraction(1, 6)
HALF = Fraction(1, 2)
# Grids of the two halves of a quarter note, tried in this order: a later one must fit better.
GRIDS = ((FINE, FINE), (SIXTH, SIXTH), (SIXTH, FINE), (FINE, SIXTH))


def snap(places: Sequence[Fraction], meter: Meter) -> dict[Fraction, Fraction]:
    """Return for each place, in quarters from a bar line, the nearest one that can be written.

    Places of one quarter note share its grids. Two that are too near to be written apart become one.

    >>> snap([Fraction(2, 7)], Meter(4, 4))
    {Fraction(2, 7): Fraction(1, 4)}
    """
    by_quarter: dict[int, list[Fraction]] = {}
    for place in sorted(set(places)):
        by_quarter.setdefault(place // 1, []).append(place)
    found: dict[Fraction, Fraction] = {}
    for quarter, inside in by_quarter.items():
        grids = _grids(quarter + HALF in inside, meter)
        candidates = [[quarter + _nearest(place - quarter, grid) for place in inside] for grid in grids]
        best = min(
            candidates,
            key=lambda snapped: (
                len(inside) - len(set(snapped)),
                sum(abs(new - old) for new, old in zip(snapped, inside, strict=True)),
            ),
        )
        found.update(zip(inside, best, strict=True))
    return found


def _grids(halved: bool, meter: Meter) -> tuple[tuple[Fraction, Fraction], ...]:
    """Triplets only where the beat is a quarter, and two kinds in it only when its middle is written."""
    if pulse_beats(meter) != 1:
        return GRIDS[:1]
    return GRIDS if halved else GRIDS[:2]


def _nearest(offset: Fraction, grid: tuple[Fraction, Fraction]) -> Fraction:
    step = grid[0] if offset < HALF else grid[1]
    return round(offset / step) * step
