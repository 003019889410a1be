"""Whether what rings from before can stay as it is under a new grip."""

from __future__ import annotations

import numpy as np

from fingering.base import COLUMN, Base
from fingering.grips import BARRE_STRINGS
from fingering.hand import HAND, Reach


def group_rows(spots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return one row for each distinct placement of several notes, and which of them each row is.

    ``spots`` has shape (n, notes, 3).
    """
    n, notes, _ = spots.shape
    group = np.zeros(n, dtype=np.int64)
    for column in range(notes):
        key = (spots[:, column, 0].astype(np.int64) * 64 + spots[:, column, 1]) * 8 + spots[:, column, 2]
        _, group = np.unique(group * 8192 + key, return_inverse=True)
    first = np.zeros(int(group.max(initial=-1)) + 1, dtype=np.int64)
    first[group[::-1]] = np.arange(n)[::-1]
    return first, group


def stays_put(
    column: int, base: Base, incoming: np.ndarray, pressed: list[np.ndarray], spoiled: np.ndarray, reach: Reach
) -> np.ndarray:
    """Return (q, rows): whether one held note stays where it was, for each way it came and each new grip.

    ``spoiled`` says where a bend would drag it, or it is a bend that would drag others.
    """
    was = incoming[:, column]
    keeps = _keeps(base, was, reach) & (was[:, 0] > 0)[:, None] & ~spoiled[:, :, column]
    return keeps & _not_under_held_barre(base, incoming, column) & _bars_flat(base, incoming, column, pressed)


def press_held(pressed: list[np.ndarray], counts: np.ndarray, was: np.ndarray, keeps: np.ndarray) -> None:
    """Put the fingers of kept notes down beside the new ones, counting those that cross."""
    fret, low, high = pressed
    for finger in (1, 2, 3, 4):
        mine = keeps & (was[:, 2] == finger)[:, None]
        if not mine.any():
            continue
        string = np.broadcast_to(was[:, 0, None], mine.shape)
        for other in (1, 2, 3, 4):
            level = mine & (fret[:, :, other - 1] == was[:, 1, None])
            if other < finger:
                counts[:, :, COLUMN["crossing"]] += level & (high[:, :, other - 1] < string)
            elif other > finger:
                counts[:, :, COLUMN["crossing"]] += level & (low[:, :, other - 1] > string)
        at = finger - 1
        wider = np.maximum(low[:, :, at] - string, string - high[:, :, at])
        wider = np.where(mine & (fret[:, :, at] > 0), np.maximum(wider, 0), 0)
        # as the same barre would count had it been laid at once
        counts[:, :, COLUMN["barre"]] += (wider > 0) + 0.2 * wider if finger == 1 else 2.0 * wider
        low[:, :, at] = np.where(
            mine, np.where(low[:, :, at] > 0, np.minimum(low[:, :, at], string), string), low[:, :, at]
        )
        high[:, :, at] = np.where(mine, np.maximum(high[:, :, at], string), high[:, :, at])
        fret[:, :, at] = np.where(mine, was[:, 1, None], fret[:, :, at])


def _keeps(base: Base, was: np.ndarray, reach: Reach) -> np.ndarray:
    """Return (q, rows): whether the held note stays where it was under each new grip and hand position."""
    first, group = group_rows(was[:, None, :])
    table = np.array([_stays(base, tuple(spot), reach) for spot in was[first].tolist()])
    return table[group]


def _stays(base: Base, spot: tuple[int, int, int], reach: Reach) -> np.ndarray:
    string, fret, finger = spot
    bad = (base.string == string).any(axis=1)
    barre = base.finger_high > base.finger_low
    covered = (base.finger_low <= string) & (base.finger_high >= string) & barre
    if finger == 0:
        return ~(bad | covered.any(axis=1))
    bad |= ~reach.can[finger][base.position, fret]
    mm = reach.fret_mm
    for other in (1, 2, 3, 4):
        theirs = base.finger_fret[:, other - 1]
        used = theirs > 0
        if other == finger:
            low = np.minimum(base.finger_low[:, other - 1], string)[:, None]
            high = np.maximum(base.finger_high[:, other - 1], string)[:, None]
            between = (base.string > low) & (base.string < high) & (base.fret <= fret) & (base.finger != finger)
            too_wide = (high - low)[:, 0] + 1 > BARRE_STRINGS[finger]
            bad |= used & ((theirs != fret) | too_wide | between.any(axis=1))
        elif other < finger:
            bad |= used & ((theirs > fret) | (mm[fret] - mm[theirs] > HAND.widest_for(other, finger)))
            bad |= used & covered[:, other - 1] & (theirs >= fret)
        else:
            bad |= used & ((theirs < fret) | (mm[theirs] - mm[fret] > HAND.widest_for(finger, other)))
            bad |= used & covered[:, other - 1]
    return ~bad


def _not_under_held_barre(base: Base, incoming: np.ndarray, column: int) -> np.ndarray:
    """Return (q, rows): whether no new note needs a string under the barre this held note is part of."""
    was = incoming[:, column]
    fits = np.ones((len(incoming), len(base.position)), dtype=bool)
    for other in range(incoming.shape[1]):
        same = (incoming[:, other, 2] == was[:, 2]) & (was[:, 2] > 0) & (other != column)
        if not same.any():
            continue
        low = np.minimum(was[:, 0], incoming[:, other, 0])[:, None, None]
        high = np.maximum(was[:, 0], incoming[:, other, 0])[:, None, None]
        under = (base.string > low) & (base.string < high) & (base.fret <= was[:, 1, None, None])
        under &= base.finger != was[:, 2, None, None]
        fits &= ~(same[:, None] & under.any(axis=2))
    return fits


def _bars_flat(base: Base, incoming: np.ndarray, column: int, pressed: list[np.ndarray]) -> np.ndarray:
    """Return (q, rows): whether a held note whose finger also takes new notes makes a barre that can lie flat.

    It must not be too wide, and must not cover another held note that lies lower or open.
    """
    fits = np.ones((len(incoming), len(base.position)), dtype=bool)
    for finger in (1, 2, 3, 4):
        mine = incoming[:, column, 2] == finger
        if not mine.any():
            continue
        fret, low, high = (table[:, :, finger - 1] for table in pressed)
        string = incoming[:, column, 0, None]
        used = mine[:, None] & (fret > 0)
        low, high = np.minimum(low, string), np.maximum(high, string)
        fits &= ~(used & (high - low + 1 > BARRE_STRINGS[finger]))
        for other in range(incoming.shape[1]):
            their_string, their_fret, their_finger = (incoming[:, other, part, None] for part in range(3))
            under = (their_string > low) & (their_string < high) & (their_fret <= incoming[:, column, 1, None])
            fits &= ~(used & under & (their_finger != finger))
    return fits
