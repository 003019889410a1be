"""Grips as arrays: every way to hold the notes of one moment, from every hand position, with what each term counts.

This is the part that does not depend on what rings from before, so moments that ask the same thing share it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fingering.bending import BENDS, push_for
from fingering.cost import TERMS
from fingering.fretboard import FIRST_WOUND_STRING, Fretboard
from fingering.grips import Grip, grips_for
from fingering.hand import Reach, reach_on
from fingering.needs import Need
from fingering.shapes import chord_outside_shapes, octave_out_of_shape

COLUMN = {term: index for index, term in enumerate(TERMS)}
SPREAD_FREE_MM = 60.0  # outer fingers this close cost nothing: two frets at the nut; common practice

OUT_OF_POSITION = "it cannot be reached from the position asked for"
UNDER_CAPO = 0.4  # a capo is put on for its open strings: there one counts so much; a choice of ours
CURL_SEMITONES = 0.8  # up to here a bend is a curl: a quarter tone, give or take; common practice
OPEN_JUMP_FRETS = 4  # from fifth position up an open string sounds as foreign as it will; a choice of ours


@dataclass(frozen=True, slots=True)
class Base:
    """Ways to hold k notes; n rows, one a grip and hand position."""

    string: np.ndarray  # (n, k) 0 is a note left out
    fret: np.ndarray  # (n, k)
    finger: np.ndarray  # (n, k)
    position: np.ndarray  # (n,)
    finger_fret: np.ndarray  # (n, 4) fret each finger presses, 0 when it is free
    finger_low: np.ndarray  # (n, 4) highest-pitched string it presses, 0 when free
    finger_high: np.ndarray  # (n, 4) lowest-pitched string it presses
    counts: np.ndarray  # (n, terms)
    faults: tuple[tuple[str, ...], ...]  # one tuple a grip
    grip_of: np.ndarray  # (n,) row of ``faults``


@lru_cache(maxsize=4096)
def base_for(needs: tuple[Need, ...], fretboard: Fretboard, likes_frets: tuple[int, int, int]) -> Base:
    """Return the ways to hold these notes on this neck; at least one row."""
    grips = grips_for(needs, fretboard)
    reach = reach_on(fretboard)
    spots = np.array([grip.spots for grip in grips], dtype=np.int16).reshape(len(grips), len(needs), 3)
    pressed = _pressed(spots)
    counts = np.array([_grip_counts(grip, needs, fretboard, likes_frets) for grip in grips])
    low, high = _position_limits(needs)
    grip_of, position = np.nonzero(_positions(pressed[0], reach, (low, high)))
    all_counts = counts[grip_of]
    outside = (position < low) | (position > high)
    all_counts[outside, COLUMN["fault"]] += 1.0
    astray = set(grip_of[outside].tolist())
    opened = ((spots[grip_of, :, 0] > 0) & (spots[grip_of, :, 1] == 0)).sum(axis=1)
    all_counts[:, COLUMN["open up the neck"]] = opened * np.minimum(position - 1, OPEN_JUMP_FRETS)
    base = Base(
        string=spots[grip_of, :, 0],
        fret=spots[grip_of, :, 1],
        finger=spots[grip_of, :, 2],
        position=position.astype(np.int16),
        finger_fret=pressed[0][grip_of],
        finger_low=pressed[1][grip_of],
        finger_high=pressed[2][grip_of],
        counts=all_counts,
        faults=tuple(
            tuple(fault or (OUT_OF_POSITION if row in astray else "") for fault in grip.faults)
            for row, grip in enumerate(grips)
        ),
        grip_of=grip_of,
    )
    for name in ("string", "fret", "finger", "position", "finger_fret", "finger_low", "finger_high", "counts"):
        getattr(base, name).setflags(write=False)
    return base


def _pressed(spots: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return, per grip and finger, the fret pressed and the first and last string under it."""
    fret = np.zeros((len(spots), 4), dtype=np.int16)
    low, high = np.zeros_like(fret), np.zeros_like(fret)
    for finger in (1, 2, 3, 4):
        mine = spots[:, :, 2] == finger
        strings = np.where(mine, spots[:, :, 0], 0)
        fret[:, finger - 1] = np.where(mine, spots[:, :, 1], 0).max(axis=1)
        high[:, finger - 1] = strings.max(axis=1)
        low[:, finger - 1] = np.where(mine, spots[:, :, 0], 99).min(axis=1) % 99
    return fret, low, high


def _position_limits(needs: tuple[Need, ...]) -> tuple[int, int]:
    limits = [need.limits.positions for need in needs if need.limits.positions is not None]
    return (max(low for low, _ in limits), min(high for _, high in limits)) if limits else (1, 99)


def _positions(finger_fret: np.ndarray, reach: Reach, allowed: tuple[int, int]) -> np.ndarray:
    """Return which hand positions serve each grip, shape (grips, positions + 1); at least one a grip."""
    works = np.ones((len(finger_fret), reach.positions + 1), dtype=bool)
    works[:, 0] = False
    off_mm = np.zeros(works.shape)
    for finger in (1, 2, 3, 4):
        fret = finger_fret[:, finger - 1]
        works &= reach.can[finger][:, fret].T | (fret == 0)[:, None]
        off_mm += np.where((fret > 0)[:, None], np.abs(reach.beside_mm[finger][:, fret].T), 0.0)
    span = np.arange(works.shape[1])
    within = works & (span >= allowed[0]) & (span <= allowed[1])
    works[within.any(axis=1)] &= within[within.any(axis=1)]
    off_mm[:, 0] = np.inf
    nearest = np.argmin(off_mm, axis=1)
    for grip in np.nonzero(~works.any(axis=1))[0]:
        works[grip, nearest[grip]] = True
    return works


def _grip_counts(
    grip: Grip, needs: tuple[Need, ...], fretboard: Fretboard, likes_frets: tuple[int, int, int]
) -> np.ndarray:
    """Return what each term counts for this grip, whatever the hand position."""
    counts = np.zeros(len(TERMS))
    counts[COLUMN["fault"]] = grip.fault_count
    for (string, fret, finger), need in zip(grip.spots, needs, strict=True):
        if string == 0:
            continue
        from_nut = fret + fretboard.capo
        if fret == 0:
            counts[COLUMN["open string"]] += UNDER_CAPO if fretboard.capo else 1.0
        else:
            counts[COLUMN["weak finger"]] += {3: 1 / 3, 4: 1.0}.get(finger, 0.0)
            counts[COLUMN["low neck"]] += max(0, likes_frets[0] - from_nut)
            most = likes_frets[1] if string < FIRST_WOUND_STRING else likes_frets[2]
            counts[COLUMN["high neck"]] += max(0, from_nut - most)
        if need.harmonic:
            counts[COLUMN["node"]] += _softer_db(string, need.midi, fretboard) / 10.0
        if need.bend_semitones > 0:
            counts[COLUMN["bend"]] += _bend_count((string, fret, finger), need, fretboard)
        if need.vibrato:
            counts[COLUMN["vibrato"]] += {4: 1.0, 2: 0.3, 1: 0.2}.get(finger, 0.0)
    for finger in (1, 2, 3, 4):
        strings = [spot[0] for spot in grip.spots if spot[2] == finger and spot[1] > 0]
        if len(strings) > 1:
            further = max(strings) - min(strings) - 1
            # the index lies flat easily; another finger does so over two strings, hardly over three
            counts[COLUMN["barre"]] += 1.0 + 0.2 * further if finger == 1 else 2.0 + 2.0 * further
    placed = [spot[:2] for spot in grip.spots if spot[0]]
    counts[COLUMN["shape"]] += chord_outside_shapes(placed, fretboard)
    counts[COLUMN["octave"]] += octave_out_of_shape(placed, fretboard)
    return counts


def _softer_db(string: int, midi: int, fretboard: Fretboard) -> float:
    """Return how much softer a string's natural harmonic is than its octave: the nth of a plucked string is as 1 / n^2.

    N. Fletcher and T. Rossing, "The Physics of Musical Instruments", 2nd ed., chapter 2. Never below 0.
    """
    parts = round(2 ** ((midi - fretboard.midi_at(string, 0)) / 12))  # of the string; each sounds as the harmonic
    return 40.0 * math.log10(max(parts, 2) / 2)


def _bend_count(spot: tuple[int, int, int], need: Need, fretboard: Fretboard) -> float:
    string, fret, finger = spot
    if fret == 0:
        return 3.0
    _, push_n = push_for(string, fret + fretboard.capo, need.bend_semitones, fretboard.scale_length_mm, BENDS)
    # the ring finger with two behind it is the usual one; the index curls easily, the little finger is weak
    small = need.bend_semitones <= CURL_SEMITONES
    unsupported = {1: 0.2 if small else 0.8, 2: 0.2 if small else 0.6, 3: 0.0, 4: 0.8}[finger]
    return push_n / 10.0 + unsupported
