"""The places and costs of ``grid`` as arrays, so that many readings can be followed at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.grid import DIVISIONS, ON_BEAT, Division, Place, division_cost, empty_cost, empty_inside, places

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

KINDS = len(DIVISIONS)


@dataclass(frozen=True, slots=True)
class Lattice:
    """Tables for several pulses, one row each, padded to the longest.

    A beat has ``count[p]`` places, at ``ticks[p]`` in order, each divided in ``column[p]`` (``KINDS`` on the beat).
    What it costs to go on depends on the state: tick within the beat, last division, whether this beat is divided so
    (``state_of``). ``within[p, state, place]`` is for a place in the same beat, infinite where it would be divided in
    two ways; to a later beat it costs ``leave[p, state] + arrive[p, division, place]`` and ``skip[p]`` for each beat
    passed over.
    """

    pulse: Ints  # (pulses,), in ticks
    count: Ints  # (pulses,)
    ticks: Ints  # (pulses, places)
    column: Ints  # (pulses, places)
    first: Ints  # (pulses, longest): the first place at or after a tick
    start: Floats  # (pulses, places): to stand there at all
    within: Floats  # (pulses, states, places)
    leave: Floats  # (pulses, states)
    arrive: Floats  # (pulses, divisions, places)
    skip: Floats  # (pulses,)


def state_of(tick: Ints, division: Ints, divided: NDArray[np.bool_]) -> Ints:
    """Return the row of ``within`` and ``leave`` for a place in a beat."""
    return (tick * KINDS + division) * 2 + divided


@cache
def lattice(pulses: Sequence[int]) -> Lattice:
    """Return the tables for some pulses, in ticks.

    >>> sorted(set(lattice((24,)).ticks[0].tolist()))
    [0, 3, 4, 6, 8, 9, 12, 15, 16, 18, 20, 21]
    """
    standing = [places(pulse) for pulse in pulses]
    longest, most = max(pulses), max(map(len, standing))
    states = longest * KINDS * 2
    ticks, column = np.zeros((len(pulses), most), np.int64), np.zeros((len(pulses), most), np.int64)
    first, start = np.zeros((len(pulses), longest), np.int64), np.full((len(pulses), most), np.inf)
    within, leave = np.full((len(pulses), states, most), np.inf), np.full((len(pulses), states), np.inf)
    arrive, skip = np.full((len(pulses), KINDS, most), np.inf), np.zeros(len(pulses))
    for row, (pulse, here) in enumerate(zip(pulses, standing, strict=True)):
        ticks[row, : len(here)] = [place.ticks for place in here]
        column[row, : len(here)] = [_column(place) for place in here]
        start[row, : len(here)] = [place.cost for place in here]
        first[row, :pulse] = np.searchsorted([place.ticks for place in here], np.arange(pulse))
        skip[row] = empty_cost(0, "halves", 2 * pulse, "halves", pulse) - empty_cost(
            0, "halves", pulse, "halves", pulse
        )
        for index, place in enumerate(here):
            for kind, division in enumerate(DIVISIONS):
                arrive[row, kind, index] = place.cost + _arrival(division, place, pulse)
        for tick in range(pulse):
            for kind, division in enumerate(DIVISIONS):
                for divided in (False, True):
                    state = (tick * KINDS + kind) * 2 + divided
                    leave[row, state] = empty_inside(division if divided else "halves", tick, pulse, pulse)
                    within[row, state, : len(here)] = [
                        _staying(tick, division, divided, place, pulse) for place in here
                    ]
    return Lattice(
        np.array(pulses), np.array(list(map(len, standing))), ticks, column, first, start, within, leave, arrive, skip
    )


def _column(place: Place) -> int:
    return KINDS if place.division is None else DIVISIONS.index(place.division)


def _arrival(before: Division, place: Place, pulse: int) -> float:
    """What it costs to go from the last beat line passed to a place of this beat."""
    if place.division is None:
        return 0.0
    empty = -math.log(1 - ON_BEAT) + empty_inside(place.division, 0, place.ticks, pulse)
    return division_cost(before, place.division) + empty


def _staying(tick: int, division: Division, divided: bool, place: Place, pulse: int) -> float:
    """What it costs to go to a later place of the same beat."""
    if place.division is None or place.ticks <= tick or (divided and place.division != division):
        return math.inf
    new = 0.0 if divided else division_cost(division, place.division)
    return place.cost + new + empty_inside(place.division, tick, place.ticks, pulse)
