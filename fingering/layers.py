"""Moments -> layers of states the search walks through.

A state says where every sounding note lies, which finger holds it and where the hand stands. What rings from before
stays where it was; when the new grip needs its string or finger, or the hand leaves its reach, it is cut short.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fingering.base import COLUMN, CURL_SEMITONES, SPREAD_FREE_MM, Base, base_for
from fingering.cost import TERMS, Profile
from fingering.dragging import spoiled
from fingering.errors import ClashError
from fingering.fretboard import Fretboard
from fingering.hand import Reach, reach_on
from fingering.holding import press_held, stays_put
from fingering.moments import Moment
from fingering.needs import FREE, Limits, need_of
from fingering.passage import Pluck

RING_LOST_S = 0.5  # cutting this much of a note's ring counts once; a choice of ours
INDEX_LEAVES = 1.3  # the index anchors the position, so leaving it costs a little more; a choice of ours
CLOSING = 0.5  # fingers closing together work half as hard as fingers spreading; a choice of ours
NEXT_BUSY = 0.5  # the finger next behind a bend holds another note: as 5 N of push; a choice of ours
ALONE = 0.5  # every finger behind it does: as much again; a choice of ours
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


def code_of(low: np.ndarray, high: np.ndarray, fret: np.ndarray, n_strings: int) -> np.ndarray:
    """Return one number for what a finger presses: first and last string, and fret. 0 when it is free."""
    return np.where(fret > 0, 1 + ((low - 1) * n_strings + (high - 1)) + (fret - 1) * n_strings * n_strings, 0)


def base_of(
    moment: Moment, plucks: tuple[Pluck, ...], fretboard: Fretboard, profile: Profile, limits: dict[int, Limits]
) -> Base:
    """Return the ways to hold the new notes of a moment, whatever rings."""
    needs = tuple(need_of(plucks[index], limits.get(index, FREE)) for index in moment.new)
    try:
        return base_for(needs, fretboard, profile.likes_frets)
    except ClashError as clash:
        raise clash.named([plucks[index].id for index in moment.new]) from None


def handed_on(before: Layer, moment: Moment) -> np.ndarray:
    """Return how what rings into a moment lies in each state before, (n, held, 3).

    A natural harmonic rings on as an open string does: the finger that touched its node has left it.
    """
    held = before.spots[:, [before.notes.index(index) for index in moment.held]]
    held[:, list(moment.free), 1:] = 0
    return held


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
    base = base_of(moment, plucks, fretboard, profile, limits)
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
    dragged = spoiled(moment, plucks, base, incoming, fretboard)
    for column, index in enumerate(moment.held):
        source = plucks[index]
        was = incoming[:, column]
        lost = was[:, 0] == 0
        if source.id in joined:
            new_column = joined[source.id]
            _join(counts, slide, base, was, plucks[moment.new[new_column]], new_column)
            continue
        keeps = stays_put(column, base, incoming, pressed, dragged, reach)
        spots[:, :, len(moment.new) + column] = np.where(keeps[:, :, None], was[:, None, :], 0)
        press_held(pressed, counts, was, keeps)
        counts[:, :, COLUMN["cut short"]] += np.where(keeps | lost[:, None], 0.0, ring_loss(source, moment.onset_s))
    _count_hand(counts, pressed, base.position, reach)
    _count_support(counts, pressed, base, [plucks[index].bend_semitones for index in moment.new])
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


def ring_loss(pluck: Pluck, onset_s: float) -> float:
    """Return what cutting the rest of this note's ring counts."""
    lost_s = min(pluck.end_s - onset_s, 2 * RING_LOST_S)
    return max(lost_s, 0.0) / RING_LOST_S * (LET_RING_COUNT if pluck.let_ring else 1.0)


def _count_hand(counts: np.ndarray, pressed: list[np.ndarray], position: np.ndarray, reach: Reach) -> None:
    """Count fingers beside their own fret, and the spread between the outer ones."""
    fret = pressed[0]
    used = fret > 0
    for finger in (1, 2, 3, 4):
        beside = reach.beside_mm[finger][position[None, :], fret[:, :, finger - 1]]
        outward = beside < 0 if finger == 1 else beside > 0
        beside = np.abs(beside) * np.where(outward, INDEX_LEAVES if finger == 1 else 1.0, CLOSING)
        counts[:, :, COLUMN["stretch"]] += np.where(used[:, :, finger - 1], beside, 0.0) / 10.0
    mm = reach.fret_mm[fret]
    apart = np.where(used, mm, -np.inf).max(axis=2) - np.where(used, mm, np.inf).min(axis=2)
    apart = np.where(used.any(axis=2), apart, 0.0)
    counts[:, :, COLUMN["spread"]] += np.maximum(apart - SPREAD_FREE_MM, 0.0) / 10.0


def _count_support(counts: np.ndarray, pressed: list[np.ndarray], base: Base, bends: list[float]) -> None:
    """Count fingers that should stand behind a bend but hold another note, ringing ones included."""
    for column, semitones in enumerate(bends):
        if semitones <= CURL_SEMITONES:
            continue
        bending = base.finger[None, :, column]
        busy = [(pressed[0][:, :, finger - 1] > 0) & (finger < bending) for finger in (1, 2, 3)]
        behind = sum(one.astype(int) for one in busy)
        next_behind = sum((one & (finger == bending - 1)).astype(int) for finger, one in enumerate(busy, start=1))
        alone = (behind > 0) & (behind == bending - 1)
        counts[:, :, COLUMN["bend"]] += NEXT_BUSY * next_behind + ALONE * alone


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
