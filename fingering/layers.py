"""Moments -> layers of states the search walks through.

A state says where every sounding note lies, which finger holds it and where the hand stands. What rings from before
stays where it was; when the new grip needs its string or finger, or the hand leaves its reach, it is cut short.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fingering.base import COLUMN, SPREAD_FREE_MM, Base, base_for
from fingering.bending import push_for, strings_swept
from fingering.cost import TERMS, Profile
from fingering.fretboard import Fretboard
from fingering.grips import BARRE_STRINGS
from fingering.hand import HAND, Reach, reach_on
from fingering.moments import Moment
from fingering.needs import Limits, need_of
from fingering.passage import Pluck

RING_LOST_S = 0.5  # cutting this much of a note's ring counts once; a choice of ours
CLOSING = 0.5  # fingers closing together work half as hard as fingers spreading; a choice of ours
LET_RING_COUNT = 4.0  # a note marked to ring on counts so much more; a choice of ours


@dataclass(frozen=True, slots=True)
class Layer:
    """States of one moment: n rows. ``notes`` gives the pluck behind each column of ``spots``."""

    moment: Moment
    notes: tuple[int, ...]  # new, then held
    spots: np.ndarray  # (n, notes, 3) string, fret, finger; zeros: not placed, or cut short
    position: np.ndarray  # (n,)
    codes: np.ndarray  # (n, 4) what each finger presses, see ``moves``
    plucked: np.ndarray  # (n,) set of strings the new notes lie on, one bit a string
    slide: np.ndarray  # (n,) frets the hand is carried by a slide into this state
    counts: np.ndarray  # (n, terms)
    came_with: np.ndarray  # (n,) which row of ``incoming`` it continues
    incoming: np.ndarray  # (q, held, 3) the placements of held notes it can follow
    faults: tuple[tuple[str, ...], ...]
    grip_of: np.ndarray  # (n,) row of ``faults``

    def take(self, rows: np.ndarray) -> Layer:
        """Return the layer with only these states."""
        return Layer(
            self.moment,
            self.notes,
            self.spots[rows],
            self.position[rows],
            self.codes[rows],
            self.plucked[rows],
            self.slide[rows],
            self.counts[rows],
            self.came_with[rows],
            self.incoming,
            self.faults,
            self.grip_of[rows],
        )


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


def code_of(low: np.ndarray, high: np.ndarray, fret: np.ndarray, n_strings: int) -> np.ndarray:
    """Return one number for what a finger presses: first and last string, and fret. 0 when it is free."""
    return np.where(fret > 0, 1 + ((low - 1) * n_strings + (high - 1)) + (fret - 1) * n_strings * n_strings, 0)


def layer_for(
    moment: Moment,
    plucks: tuple[Pluck, ...],
    incoming: np.ndarray,
    fretboard: Fretboard,
    profile: Profile,
    limits: dict[int, Limits],
) -> Layer:
    """Return every state of this moment that can follow the held placements in ``incoming``, shape (q, held, 3)."""
    reach = reach_on(fretboard)
    needs = tuple(need_of(plucks[index], limits.get(index, Limits())) for index in moment.new)
    base = base_for(needs, fretboard, profile.likes_frets)
    counts = base.counts.copy()
    _count_sound(counts, base, [plucks[index] for index in moment.new])
    rows, q = len(base.position), len(incoming)
    spots = np.zeros((q, rows, len(moment.new) + len(moment.held), 3), dtype=np.int16)
    spots[:, :, : len(moment.new)] = np.stack([base.string, base.fret, base.finger], axis=-1)
    pressed = [np.broadcast_to(table, (q, rows, 4)).copy() for table in
               (base.finger_fret, base.finger_low, base.finger_high)]  # fmt: skip
    counts = np.broadcast_to(counts, (q, *counts.shape)).copy()
    slide = np.zeros((q, rows), dtype=np.int16)
    joined = {plucks[new].joined_to: column for column, new in enumerate(moment.new) if plucks[new].joined_to}
    bends = _swept(moment, plucks, base, fretboard)
    for column, index in enumerate(moment.held):
        source = plucks[index]
        was = incoming[:, column]
        lost = was[:, 0] == 0
        if source.id in joined:
            new_column = joined[source.id]
            _join(counts, slide, base, was, plucks[moment.new[new_column]], new_column)
            continue
        keeps = _keeps(base, was, reach, bends) & ~lost[:, None]
        keeps &= _not_under_held_barre(base, incoming, column)
        keeps &= _bars_flat(base, incoming, column, pressed)
        if source.bend_semitones > 0:
            keeps &= ~_drags_new(base, was, source.bend_semitones, [plucks[i] for i in moment.new], fretboard)
        spots[:, :, len(moment.new) + column] = np.where(keeps[:, :, None], was[:, None, :], 0)
        _press(pressed, counts, was, keeps)
        counts[:, :, COLUMN["cut short"]] += np.where(keeps | lost[:, None], 0.0, _loss(source, moment.onset_s))
    _count_hand(counts, pressed, base.position, reach)
    total = q * rows
    codes = code_of(pressed[1], pressed[2], pressed[0], len(fretboard.open_midi))
    plucked = np.where(base.string > 0, 1 << np.maximum(base.string - 1, 0), 0).sum(axis=1)
    return Layer(
        moment,
        moment.new + moment.held,
        spots.reshape(total, -1, 3),
        np.tile(base.position, q),
        codes.reshape(total, 4).astype(np.int32),
        np.tile(plucked, q),
        slide.reshape(total),
        counts.reshape(total, len(TERMS)),
        np.repeat(np.arange(q), rows),
        incoming,
        base.faults,
        np.tile(base.grip_of, q),
    )


def _count_sound(counts: np.ndarray, base: Base, plucks: list[Pluck]) -> None:
    """Count how strongly the sound speaks against each string: log of the likeliest weight over this one."""
    for column, pluck in enumerate(plucks):
        if pluck.string_weights is not None:
            weights = np.maximum(np.array([1.0, *pluck.string_weights]), 0.01)
            against = np.log(weights[1:].max() / weights)
            against[0] = 0.0
            counts[:, COLUMN["sound"]] += np.maximum(against, 0.0)[base.string[:, column]]


def _loss(pluck: Pluck, onset_s: float) -> float:
    """Return what cutting the rest of this note's ring counts."""
    lost_s = min(pluck.end_s - onset_s, 2 * RING_LOST_S)
    return max(lost_s, 0.0) / RING_LOST_S * (LET_RING_COUNT if pluck.let_ring else 1.0)


def _swept(
    moment: Moment, plucks: tuple[Pluck, ...], base: Base, fretboard: Fretboard
) -> list[tuple[np.ndarray, np.ndarray]]:
    """Return, per bent new note, which strings every direction of its push drags: (rows, strings + 1) tables."""
    found = []
    n_strings = len(fretboard.open_midi)
    for column, index in enumerate(moment.new):
        bend = plucks[index].bend_semitones
        if bend <= 0:
            continue
        tables = np.zeros((2, len(base.position), n_strings + 1), dtype=bool)
        for string, fret in {*zip(base.string[:, column].tolist(), base.fret[:, column].tolist(), strict=True)}:
            if string == 0 or fret == 0:
                continue
            push_mm, _ = push_for(string, fret + fretboard.capo, bend, fretboard.scale_length_mm)
            ways = strings_swept(string, n_strings, push_mm, HAND.string_spacing_mm)
            rows = (base.string[:, column] == string) & (base.fret[:, column] == fret)
            for way in (0, 1):
                for dragged in ways[min(way, len(ways) - 1)]:
                    tables[way, rows, dragged] = True
        found.append((tables[0], tables[1]))
    return found


def _keeps(base: Base, was: np.ndarray, reach: Reach, bends: list[tuple[np.ndarray, np.ndarray]]) -> np.ndarray:
    """Return (q, rows): whether the held note stays where it was under each new grip and hand position."""
    first, group = group_rows(was[:, None, :])
    table = np.array([_stays(base, tuple(spot), reach, bends) for spot in was[first].tolist()])
    return table[group]


def _stays(
    base: Base, spot: tuple[int, int, int], reach: Reach, bends: list[tuple[np.ndarray, np.ndarray]]
) -> np.ndarray:
    string, fret, finger = spot
    bad = (base.string == string).any(axis=1)
    for up, down in bends:
        bad |= up[:, string] & down[:, string]
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


def _drags_new(base: Base, was: np.ndarray, semitones: float, new: list[Pluck], fretboard: Fretboard) -> np.ndarray:
    """Return (q, rows): whether holding this bend would drag the string of an unbent new note."""
    still = [column for column, pluck in enumerate(new) if pluck.bend_semitones <= 0]
    drags = np.zeros((len(was), len(base.position)), dtype=bool)
    n_strings = len(fretboard.open_midi)
    for row, (string, fret, _) in enumerate(was.tolist()):
        if string == 0 or fret == 0:
            continue
        push_mm, _ = push_for(string, fret + fretboard.capo, semitones, fretboard.scale_length_mm)
        ways = strings_swept(string, n_strings, push_mm, HAND.string_spacing_mm)
        hit = [np.isin(base.string[:, still], way).any(axis=1) for way in ways]
        drags[row] = np.logical_and.reduce(hit)
    return drags


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


def _press(pressed: list[np.ndarray], counts: np.ndarray, was: np.ndarray, keeps: np.ndarray) -> None:
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


def _count_hand(counts: np.ndarray, pressed: list[np.ndarray], position: np.ndarray, reach: Reach) -> None:
    """Count fingers beside their own fret, and the spread between the outer ones."""
    fret = pressed[0]
    used = fret > 0
    for finger in (1, 2, 3, 4):
        beside = reach.beside_mm[finger][position[None, :], fret[:, :, finger - 1]]
        outward = beside < 0 if finger == 1 else beside > 0
        beside = np.abs(beside) * np.where(outward, 1.0, CLOSING)
        counts[:, :, COLUMN["stretch"]] += np.where(used[:, :, finger - 1], beside, 0.0) / 10.0
    mm = reach.fret_mm[fret]
    apart = np.where(used, mm, -np.inf).max(axis=2) - np.where(used, mm, np.inf).min(axis=2)
    apart = np.where(used.any(axis=2), apart, 0.0)
    counts[:, :, COLUMN["spread"]] += np.maximum(apart - SPREAD_FREE_MM, 0.0) / 10.0


def _join(counts: np.ndarray, slide: np.ndarray, base: Base, was: np.ndarray, pluck: Pluck, column: int) -> None:
    """Count the joins that cannot be played: slides that leave the string or finger, hammer-ons on one finger."""
    string, fret, finger = base.string[None, :, column], base.fret[None, :, column], base.finger[None, :, column]
    from_string, from_fret, from_finger = (was[:, part, None] for part in range(3))
    fits = (string == from_string) & (from_string > 0)
    if pluck.join == "slide":
        fits &= (finger == from_finger) & (finger > 0)
        slide += np.where(fits, fret - from_fret, 0).astype(np.int16)
    else:
        rising = (fret > from_fret) & ((finger > from_finger) | (from_finger == 0))
        falling = (fret < from_fret) & (finger < from_finger)
        fits &= rising | falling
    counts[:, :, COLUMN["fault"]] += ~fits
