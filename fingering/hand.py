"""What a left hand can hold: finger by finger, in millimetres along the neck.

The hand stands in a *position*: the fret under the index finger when nothing is stretched; fingers 2, 3 and 4 then
serve the next three frets (common practice). A finger may reach beside its own fret; what counts is the distance in
millimetres, so a reach of one fret is wide at the nut and small at the twelfth fret.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fingering.fretboard import Fretboard

FINGERS = (1, 2, 3, 4)


@dataclass(frozen=True, slots=True)
class HandSettings:
    """How far fingers reach. Millimetres are measured from fret wire to fret wire.

    Sources: four frets at the nut (97 mm at a scale of 648 mm) are comfortable and five (126 mm) are the practical
    limit for an adult hand: common practice. The other pairs are shares of that span: neighbours 2-3 and 3-4 spread
    least (they share tendons), from memory.
    """

    # farthest between two fingers that are down at the same time
    widest_mm: tuple[tuple[int, int, float], ...] = (
        (1, 2, 72.0),
        (1, 3, 101.0),
        (1, 4, 128.0),
        (2, 3, 46.0),
        (2, 4, 80.0),
        (3, 4, 52.0),
    )
    # beyond this the hand works; the sheet carries a caution (four frets at the nut)
    comfortable_mm: float = 100.0
    # how far one finger may stand from its own fret without moving the hand: back, forward
    finger_back_mm: tuple[float, float, float, float] = (37.0, 34.0, 34.0, 37.0)
    finger_forward_mm: tuple[float, float, float, float] = (34.0, 34.0, 34.0, 37.0)
    string_spacing_mm: float = 8.5  # at mid-neck, between 7 at the nut and 10.5 at the bridge; from memory

    def widest_for(self, low_finger: int, high_finger: int) -> float:
        """Return the farthest these two fingers can be apart, in millimetres."""
        for first, second, reach_mm in self.widest_mm:
            if (first, second) == (low_finger, high_finger):
                return reach_mm
        return 0.0


HAND = HandSettings()


@dataclass(frozen=True, slots=True)
class Reach:
    """The hand on one neck, as tables. Frets and positions count from the capo."""

    fret_mm: np.ndarray  # shape (last_fret + 4,): distance from the nut
    beside_mm: (
        np.ndarray
    )  # shape (5, positions + 1, last_fret + 1): finger, position, fret -> signed distance from home
    can: np.ndarray  # the same shape: whether the finger can stand there
    positions: int  # hand positions run from 1 to this


@lru_cache(maxsize=32)
def reach_on(fretboard: Fretboard, hand: HandSettings = HAND) -> Reach:
    """Return the tables of what each finger reaches from each position on this neck."""
    last = fretboard.last_fret
    fret_mm = np.array([fretboard.nut_to_fret_mm(fret) for fret in range(last + 5)])
    beside_mm = np.zeros((5, last + 1, last + 1))
    can = np.zeros(beside_mm.shape, dtype=bool)
    for finger in FINGERS:
        for position in range(1, last + 1):
            beside_mm[finger, position] = fret_mm[: last + 1] - fret_mm[position + finger - 1]
        back, forward = hand.finger_back_mm[finger - 1], hand.finger_forward_mm[finger - 1]
        can[finger, 1:, 1:] = (beside_mm[finger, 1:, 1:] >= -back) & (beside_mm[finger, 1:, 1:] <= forward)
    for table in (fret_mm, beside_mm, can):
        table.setflags(write=False)
    return Reach(fret_mm, beside_mm, can, last)


def pair_fits(reach: Reach, low: tuple[int, int], high: tuple[int, int], hand: HandSettings = HAND) -> bool:
    """Return whether two fingers can be down at once; each is (finger, fret), the lower finger first."""
    apart_mm = float(reach.fret_mm[high[1]] - reach.fret_mm[low[1]])
    return -1e-9 <= apart_mm <= hand.widest_for(low[0], high[0])
