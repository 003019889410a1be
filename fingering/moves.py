"""What it costs to go from one state to the next: tables for the search, and the same counts one by one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fingering.cost import Profile, hurry
from fingering.fretboard import Fretboard
from fingering.hand import reach_on
from fingering.layers import Layer

ROLL = 0.5  # a finger rolling to the next string at the same fret is half a leap; a choice of ours


@dataclass(frozen=True, slots=True)
class Moves:
    """Weighted tables; multiply hand and finger costs by the hurry of the moment."""

    hand: np.ndarray  # (positions + 1, positions + 1)
    finger: np.ndarray  # (codes, codes)
    centre: np.ndarray  # (2 strings + 2, 2 strings + 2), the last row and column for "no note"
    most_finger: float  # the dearest single entry of ``finger``
    most_centre: float


@lru_cache(maxsize=32)
def _finger_counts(n_strings: int, frets: int) -> tuple[np.ndarray, np.ndarray]:
    """Return how much of a hop, and of a move along the string, each pair of finger codes is."""
    spans = [(low, high) for low in range(1, n_strings + 1) for high in range(1, n_strings + 1)]
    low = np.array([0] + [span[0] for _ in range(frets) for span in spans])
    high = np.array([0] + [span[1] for _ in range(frets) for span in spans])
    fret = np.array([0] + [fret for fret in range(1, frets + 1) for _ in spans])
    used = (low > 0) & (high >= low)
    both = used[:, None] & used[None, :]
    level = fret[:, None] == fret[None, :]
    gap = np.maximum(low[:, None] - high[None, :], low[None, :] - high[:, None])
    meets = gap <= 0
    hop = np.where(level, np.clip(ROLL + 0.25 * (gap - 1), 0.0, 1.0), 1.0)
    hop = np.where(both & ~meets, hop, 0.0)
    along = (both & meets & ~level).astype(float)
    return hop, along


@lru_cache(maxsize=64)
def _moves(fretboard: Fretboard, shift: float, travel: float, hop: float, along: float, crossed: float) -> Moves:
    n_strings = len(fretboard.open_midi)
    hop_count, along_count = _finger_counts(n_strings, fretboard.last_fret)
    finger = (hop * hop_count + along * along_count).astype(np.float32)
    mm = reach_on(fretboard).fret_mm[: fretboard.last_fret + 1]
    apart_mm = np.abs(mm[:, None] - mm[None, :])
    hand = (shift * (apart_mm > 0) + travel * apart_mm / 10.0).astype(np.float32)
    centre = (crossed * crossings(n_strings)).astype(np.float32)
    return Moves(hand, finger, centre, float(finger.max()), float(centre.max()))


def crossings(n_strings: int) -> np.ndarray:
    """Return how many strings beyond the next lie between two doubled mean strings; the last index is no note."""
    doubled = np.arange(2 * n_strings + 2)
    apart = np.maximum(np.abs(doubled[:, None] - doubled[None, :]) / 2.0 - 1.0, 0.0)
    apart[-1, :] = apart[:, -1] = 0.0
    return apart


def moves_for(fretboard: Fretboard, profile: Profile) -> Moves:
    """Return the weighted tables for this neck and profile."""
    return _moves(
        fretboard,
        profile["shift"],
        profile["travel"],
        profile["hop"],
        profile["same finger"],
        profile["string change"],
    )


def move_costs(before: Layer, rows: np.ndarray, after: Layer, columns: np.ndarray, moves: Moves) -> np.ndarray:
    """Return the cost of going from each state in ``rows`` to each in ``columns``, shape (rows, columns)."""
    last = len(moves.hand) - 1
    start = before.position[rows][:, None].astype(np.int32)
    slide = after.slide[columns]
    if slide.any():
        start = np.clip(start + slide[None, :], 1, last)
    cost = moves.hand[start, after.position[columns][None, :]]
    for finger in range(4):
        was, now = before.codes[rows, finger], after.codes[columns, finger]
        if was.any() and now.any():
            cost = cost + moves.finger[was[:, None], now[None, :]]
    cost = cost * np.float32(hurry(after.moment.since_s))
    return cost + moves.centre[before.centre[rows][:, None], after.centre[columns][None, :]]


def move_counts(before: Layer, row: int, after: Layer, column: int, fretboard: Fretboard) -> dict[str, float]:
    """Return what each movement term counts for one step, in the units of the cost terms."""
    reach = reach_on(fretboard)
    start = int(np.clip(before.position[row] + after.slide[column], 1, reach.positions))
    moved_mm = abs(float(reach.fret_mm[after.position[column]] - reach.fret_mm[start]))
    rush = hurry(after.moment.since_s)
    hop, along = _finger_counts(len(fretboard.open_midi), fretboard.last_fret)
    pairs = [(int(before.codes[row, finger]), int(after.codes[column, finger])) for finger in range(4)]
    strings = crossings(len(fretboard.open_midi))
    return {
        "shift": rush * (moved_mm > 0),
        "travel": rush * moved_mm / 10.0,
        "hop": rush * sum(float(hop[pair]) for pair in pairs),
        "same finger": rush * sum(float(along[pair]) for pair in pairs),
        "string change": float(strings[before.centre[row], after.centre[column]]),
    }
