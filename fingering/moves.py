"""What it costs to go from one state to the next: tables for the search, and the same counts one by one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fingering.cost import Profile, hurry
from fingering.fretboard import Fretboard
from fingering.hand import reach_on
from fingering.harmonies import NO_LINK
from fingering.layers import Layer
from fingering.regions import EVERYWHERE, region_bits, regions_of, standard_strings

LESS_USUAL = 0.25  # a step inside a less usual shape is this much outside; a choice of ours
ROLL = 0.5  # a finger rolling to the next string at the same fret is half a leap; a choice of ours


@dataclass(frozen=True, slots=True)
class Moves:
    """Weighted tables; multiply hand and finger costs by the hurry of the moment."""

    hand: np.ndarray  # (positions + 1, positions + 1)
    finger: np.ndarray  # (codes, codes)
    strings: np.ndarray  # (2^strings, 2^strings) from one set of plucked strings to the next
    fretboard: Fretboard
    shape: float  # a step that no shape of its chord or scale holds
    repeat: float  # a note played again with another finger or on another string
    most_finger: float  # how much the entries of ``finger`` differ at most
    most_strings: float


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
def _moves(
    fretboard: Fretboard,
    shift: float,
    travel: float,
    hop: float,
    guide: float,
    crossed: float,
    moved: float,
    repeat: float,
    shape: float,
) -> Moves:
    n_strings = len(fretboard.open_midi)
    hop_count, along_count = _finger_counts(n_strings, fretboard.last_fret)
    finger = (hop * hop_count - guide * along_count).astype(np.float32)
    mm = reach_on(fretboard).fret_mm[: fretboard.last_fret + 1]
    apart_mm = np.abs(mm[:, None] - mm[None, :])
    hand = (shift * (apart_mm > 0) + travel * apart_mm / 10.0).astype(np.float32)
    crossed_count, moved_count = string_changes(n_strings)
    strings = (crossed * crossed_count + moved * moved_count).astype(np.float32)
    return Moves(
        hand, finger, strings, fretboard, shape, repeat, float(finger.max() - finger.min()), float(strings.max())
    )


@lru_cache(maxsize=8)
def string_changes(n_strings: int) -> tuple[np.ndarray, np.ndarray]:
    """Return, for two sets of plucked strings, the strings crossed beyond the next, and whether a chord moved over.

    A set is a number with a bit for each string, string 1 the lowest; 0 is no note.
    """
    bits = np.arange(2**n_strings)[:, None] >> np.arange(n_strings)[None, :] & 1
    size = bits.sum(axis=1)
    mean = (bits * np.arange(1, n_strings + 1)).sum(axis=1) / np.maximum(size, 1)
    both = (size[:, None] > 0) & (size[None, :] > 0)
    crossed = np.maximum(np.abs(mean[:, None] - mean[None, :]) - 1.0, 0.0) * both
    chords = (size[:, None] > 1) & (size[:, None] == size[None, :])
    moved = chords & (np.arange(len(bits))[:, None] != np.arange(len(bits))[None, :])
    return crossed, moved.astype(float)


def moves_for(fretboard: Fretboard, profile: Profile) -> Moves:
    """Return the weighted tables for this neck and profile."""
    return _moves(
        fretboard,
        profile["shift"],
        profile["travel"],
        profile["hop"],
        profile["guide"],
        profile["string change"],
        profile["string set"],
        profile["repeat"],
        profile["shape"],
    )


@dataclass(frozen=True, slots=True, eq=False)
class SharedShapes:
    """For each harmony of a step, the shapes that hold the notes of every state here and there, a bit each."""

    before: tuple[np.ndarray, ...]
    after: tuple[np.ndarray, ...]
    usual: tuple[int, ...]  # which of the shapes are usual ones


def shapes_between(before: Layer, after: Layer, fretboard: Fretboard) -> SharedShapes:
    """Return the shapes of the harmonies that two layers share; none where they share none."""
    tables = [region_bits(harmony, fretboard) for harmony in after.moment.link.harmonies]
    return SharedShapes(
        tuple(_bits(before, bits) for bits, _ in tables),
        tuple(_bits(after, bits) for bits, _ in tables),
        tuple(usual for _, usual in tables),
    )


def move_costs(
    before: Layer, rows: np.ndarray, after: Layer, columns: np.ndarray, moves: Moves, shapes: SharedShapes
) -> np.ndarray:
    """Return the cost of going from each state in ``rows`` to each in ``columns``, shape (rows, columns).

    ``shapes`` are those of ``shapes_between`` for the two layers.
    """
    last = len(moves.hand) - 1
    start = before.position[rows][:, None].astype(np.int32)
    slide = after.slide[columns]
    if slide.any():
        start = np.clip(start + slide[None, :], 1, last)
    cost = moves.hand[start, after.position[columns][None, :]]
    for finger in range(4):
        was, now = before.codes[rows, finger], after.codes[columns, finger]
        if was.any() and now.any():
            cost += moves.finger[was[:, None], now[None, :]]
    np.maximum(cost, np.float32(0.0), out=cost)
    cost *= np.float32(hurry(after.moment.since_s))
    cost += moves.strings[before.plucked[rows][:, None], after.plucked[columns][None, :]]
    for here, there in before.moment.repeated_in(after.moment):
        was, now = before.spots[rows, here], after.spots[columns, there]
        cost += np.float32(moves.repeat) * _differ(was[:, None], now[None, :])
    if after.moment.link is not NO_LINK:
        cost += np.float32(moves.shape) * _outside(before, rows, after, columns, shapes)
    return cost


def _outside(before: Layer, rows: np.ndarray, after: Layer, columns: np.ndarray, shapes: SharedShapes) -> np.ndarray:
    """Return (rows, columns): how far each step leaves the shapes of the chord or scale it belongs to.

    1 where no one shape holds both moments, ``LESS_USUAL`` where only a less usual one does, else 0. Thirds, sixths and
    triads in a row stay in shape while they stay on their strings.
    """
    inside = np.zeros((len(rows), len(columns)), dtype=bool)
    usual = np.zeros_like(inside)
    for here, there, usual_bits in zip(shapes.before, shapes.after, shapes.usual, strict=True):
        shared = here[rows][:, None] & there[columns][None, :]
        inside |= shared != 0
        usual |= (shared & usual_bits) != 0
    if after.moment.link.row:
        usual |= before.plucked[rows][:, None] == after.plucked[columns][None, :]
    return np.where(usual, 0.0, np.where(inside, LESS_USUAL, 1.0)).astype(np.float32)


def _bits(layer: Layer, bits: np.ndarray) -> np.ndarray:
    """Return the regions that hold all pitched new notes of each state, a bit each."""
    spots = layer.spots[:, list(layer.moment.pitched)]
    return np.bitwise_and.reduce(bits[spots[:, :, 0], spots[:, :, 1]], axis=1, initial=EVERYWHERE)


def _outside_count(before: Layer, row: int, after: Layer, column: int, fretboard: Fretboard) -> float:
    """Return the same for one step, by asking each region in turn."""
    link = after.moment.link
    if link is NO_LINK or (link.row and before.plucked[row] == after.plucked[column]):
        return 0.0
    strings, _ = standard_strings(fretboard)
    places = {
        (int(string), int(fret))
        for layer, state in ((before, row), (after, column))
        for string, fret, _ in layer.spots[state, list(layer.moment.pitched)]
        if string in strings
    }
    regions = [region for harmony in link.harmonies for region in regions_of(harmony, fretboard)]
    holding = [region for region in regions if places <= region.places]
    if not places and link.harmonies:
        return 0.0
    return 1.0 if not holding else 0.0 if any(region.is_usual for region in holding) else LESS_USUAL


def _differ(was: np.ndarray, now: np.ndarray) -> np.ndarray:
    """Return whether a note played again changes its string or finger; (string, fret, finger) lie last."""
    return (was[..., 0] != now[..., 0]) | (was[..., 2] != now[..., 2])


def move_counts(
    before: Layer, row: int, after: Layer, column: int, fretboard: Fretboard, profile: Profile
) -> dict[str, float]:
    """Return what each movement term counts for one step, in the units of the cost terms.

    The guide's relief counts below zero, and never makes a movement cheaper than none.
    """
    reach = reach_on(fretboard)
    start = int(np.clip(before.position[row] + after.slide[column], 1, reach.positions))
    moved_mm = abs(float(reach.fret_mm[after.position[column]] - reach.fret_mm[start]))
    rush = hurry(after.moment.since_s)
    hop, along = _finger_counts(len(fretboard.open_midi), fretboard.last_fret)
    pairs = [(int(before.codes[row, finger]), int(after.codes[column, finger])) for finger in range(4)]
    crossed, moved = string_changes(len(fretboard.open_midi))
    sets = int(before.plucked[row]), int(after.plucked[column])
    shifts, travels = float(moved_mm > 0), moved_mm / 10.0
    hops = sum(float(hop[pair]) for pair in pairs)
    effort = profile["shift"] * shifts + profile["travel"] * travels + profile["hop"] * hops
    guides = sum(float(along[pair]) for pair in pairs)
    relief = min(guides * profile["guide"], effort)
    return {
        "shift": rush * shifts,
        "travel": rush * travels,
        "hop": rush * hops,
        "guide": -rush * relief / profile["guide"] if profile["guide"] > 0 else 0.0,
        "string change": float(crossed[sets]),
        "string set": float(moved[sets]),
        "repeat": sum(
            float(_differ(before.spots[row, here], after.spots[column, there]))
            for here, there in before.moment.repeated_in(after.moment)
        ),
        "shape": _outside_count(before, row, after, column, fretboard),
    }
