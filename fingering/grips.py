"""A moment's notes -> the ways one hand can hold them.

A grip gives every note a string, a fret and a finger. Legal grips keep to four rules: one note a string; a lower
finger never stands on a higher fret than a higher finger; two fingers are no farther apart than they reach; one finger
presses several strings only as a barre over strings that lie together, at one fret, with no open string under it.
When no legal grip exists the rules are given up one by one, and the grip says which (``Grip.fault``).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from fingering.bending import push_for, strings_swept
from fingering.errors import ClashError
from fingering.fretboard import Fretboard
from fingering.hand import HAND, Reach, pair_fits, reach_on
from fingering.needs import Need, Place, places_for

# strings a finger can press at once as a barre: common practice (index the whole neck, the others a few)
BARRE_STRINGS = {1: 8, 2: 2, 3: 3, 4: 3}
OVERREACH_MM = 25.0  # a grip may ask this much too much before a note is left out instead: a choice of ours
MISSING, OUTER_MISSING = 3.0, 4.0  # faults a note left out counts as; the highest and lowest are heard most
BEYOND_ANY_HAND = 10.0  # faults of a grip that only locks can ask for: worse than leaving its notes out
OVERREACH = "the fingers are farther apart than a hand usually reaches"
TOO_MANY = "more notes at once than strings and fingers can give"
CLASH = "A string gives one note at a time, and a lower finger stands on no higher fret: free one of them."
NOT_ON_NECK = "the pitch is not on this neck"

Spot = tuple[int, int, int]  # string, fret, finger; (0, 0, 0) is a note left out


@dataclass(frozen=True, slots=True)
class Grip:
    """One way to hold the notes of one moment, in the order of the notes."""

    spots: tuple[Spot, ...]
    faults: tuple[str, ...]  # one a note, "" when it is sound
    overreach_mm: float = 0.0  # how far beyond the reach of the hand

    @property
    def missing(self) -> int:
        """How many notes are left out."""
        return sum(1 for spot in self.spots if spot[0] == 0)

    @property
    def fault_count(self) -> float:
        """How bad its faults are together, 0 when it is sound."""
        count = 0.0
        for at, (spot, fault) in enumerate(zip(self.spots, self.faults, strict=True)):
            if spot[0] == 0:
                count += _missing_counts(at, len(self.spots))
            elif fault not in ("", OVERREACH):
                count += 1.0
        if self.overreach_mm > 0:
            count += 1.0 + self.overreach_mm / 100.0 + BEYOND_ANY_HAND * (self.overreach_mm > OVERREACH_MM)
        return count


def _missing_counts(at: int, notes: int) -> float:
    """Return how many faults the note at index ``at`` of a moment's notes is, left out."""
    return OUTER_MISSING if at in (0, notes - 1) else MISSING


@lru_cache(maxsize=8192)
def grips_for(needs: tuple[Need, ...], fretboard: Fretboard) -> tuple[Grip, ...]:
    """Return every grip for notes that start together; there is always at least one.

    Legal grips alone come back when there are sound ones; else also those that overreach; else also those that leave
    notes out, inner notes first, as long as they could be less bad.
    """
    choices = [places_for(need, fretboard) for need in needs]
    bends = [need.bend_semitones for need in needs]
    playable = [index for index, places in enumerate(choices) if places]
    locked = [i for i in playable if (needs[i].string, needs[i].fret, needs[i].finger) != (None, None, None)]
    off_neck = sum(_missing_counts(at, len(needs)) for at, places in enumerate(choices) if not places)
    found: list[Grip] = []
    for left_out in range(len(playable) - len(locked) + 1):
        for most_over_mm, outer_too in ((0.0, False), (OVERREACH_MM, False), (0.0, True), (OVERREACH_MM, True)):
            least = off_neck + MISSING * left_out + (OUTER_MISSING - MISSING) * outer_too + (most_over_mm > 0)
            if found and min(grip.fault_count for grip in found) < least:
                return tuple(found)
            for kept in _subsets(playable, locked, left_out, outer_too):
                more = _grips_of(kept, choices, bends, fretboard, most_over_mm)
                found += (grip for grip in more if (grip.overreach_mm > 0) == (most_over_mm > 0))
    if found:
        return tuple(found)
    found = list(_grips_of(tuple(locked), choices, bends, fretboard, float("inf")))
    if not found:
        raise _contradiction(locked, needs, choices, fretboard)
    return tuple(found)


def _subsets(playable: list[int], locked: list[int], left_out: int, outer_too: bool) -> Iterator[tuple[int, ...]]:
    """Yield the notes to keep: locked notes always, and the highest and lowest unless ``outer_too``."""
    free = [index for index in playable if index not in locked]
    inner = [index for index in free if index not in (playable[0], playable[-1])]
    if outer_too and left_out == 0:
        return
    for dropped in combinations(free if outer_too else inner, left_out):
        if outer_too and set(dropped) <= set(inner):
            continue
        yield tuple(index for index in playable if index not in dropped)


def _contradiction(
    locked: list[int], needs: tuple[Need, ...], choices: list[tuple[Place, ...]], fretboard: Fretboard
) -> ClashError:
    """Return the error that tells the first two locks no hand can honour at once, or all when no two clash alone."""
    words = {index: _lock_in_words(needs[index]) for index in locked}
    bends = [need.bend_semitones for need in needs]
    for pair in combinations(locked, 2):
        two = {index: words[index] for index in pair}
        if not any(_grips_of(pair, choices, [0.0] * len(needs), fretboard, float("inf"))):
            return ClashError(two, CLASH)
        if not any(_grips_of(pair, choices, bends, fretboard, float("inf"))):
            return ClashError(two, "The bend of one would drag the string of the other: free one of them.")
    return ClashError(words, CLASH)


def _lock_in_words(need: Need) -> str:
    parts = (("string", need.string), ("fret", need.fret), ("finger", need.finger))
    return " ".join(f"{word} {value}" for word, value in parts if value is not None)


def _grips_of(
    kept: tuple[int, ...],
    choices: list[tuple[Place, ...]],
    bends: list[float],
    fretboard: Fretboard,
    most_over_mm: float,
) -> Iterator[Grip]:
    reach = reach_on(fretboard)
    order = sorted(kept, key=lambda index: len({(p.string, p.fret) for p in choices[index]}))
    for spots in _string_choices(order, choices, reach, most_over_mm):
        allowed = {
            index: {p.finger: p.fault for p in choices[index] if (p.string, p.fret) == spots[index]} for index in kept
        }
        fretted = sorted((i for i in kept if spots[i][1] > 0), key=lambda i: (spots[i][1], -spots[i][0]))
        open_strings = [spots[index][0] for index in kept if spots[index][1] == 0]
        if not _bends_free(spots, bends, fretboard):
            continue
        for fingers, over_mm in _finger_choices(fretted, spots, allowed, open_strings, reach, most_over_mm):
            full: list[Spot] = [(0, 0, 0)] * len(choices)
            faults = [NOT_ON_NECK if not places else TOO_MANY for places in choices]
            for index in kept:
                finger = fingers.get(index, 0)
                full[index] = (*spots[index], finger)
                faults[index] = allowed[index][finger] or (OVERREACH if over_mm > 0 else "")
            yield Grip(tuple(full), tuple(faults), over_mm)


def _bends_free(spots: dict[int, tuple[int, int]], bends: list[float], fretboard: Fretboard) -> bool:
    """Return whether no bent string drags the string of a note that must stay as it is."""
    still = [spots[index][0] for index in spots if bends[index] <= 0]
    for index, (string, fret) in spots.items():
        if bends[index] > 0 and fret > 0:
            push_mm, _ = push_for(string, fret + fretboard.capo, bends[index], fretboard.scale_length_mm)
            ways = strings_swept(string, len(fretboard.open_midi), push_mm, HAND.string_spacing_mm)
            if all(any(other in way for other in still) for way in ways):
                return False
    return True


def _string_choices(
    order: list[int], choices: list[tuple[Place, ...]], reach: Reach, most_over_mm: float
) -> Iterator[dict[int, tuple[int, int]]]:
    """Yield a string and fret for each note: no string twice, frets within a hand and ``most_over_mm``."""
    widest_mm = HAND.widest_for(1, 4) + most_over_mm

    def extend(
        at: int, chosen: dict[int, tuple[int, int]], low: int, high: int
    ) -> Iterator[dict[int, tuple[int, int]]]:
        if at == len(order):
            yield dict(chosen)
            return
        index = order[at]
        for string, fret in dict.fromkeys((p.string, p.fret) for p in choices[index]):
            if any(string == taken[0] for taken in chosen.values()):
                continue
            new_low, new_high = (min(low, fret), max(high, fret)) if fret else (low, high)
            if new_high and reach.fret_mm[new_high] - reach.fret_mm[new_low] > widest_mm:
                continue
            chosen[index] = (string, fret)
            yield from extend(at + 1, chosen, new_low, new_high)
            del chosen[index]

    yield from extend(0, {}, 99, 0)


def _finger_choices(
    fretted: list[int],
    spots: dict[int, tuple[int, int]],
    allowed: dict[int, dict[int, str]],
    open_strings: list[int],
    reach: Reach,
    most_over_mm: float,
) -> Iterator[tuple[dict[int, int], float]]:
    """Yield fingers for notes sorted from low to high fret, bass side first, with how far they overreach (mm)."""

    def extend(at: int, fingers: list[int], over_mm: float) -> Iterator[tuple[dict[int, int], float]]:
        if at == len(fretted):
            chosen = dict(zip(fretted, fingers, strict=True))
            if barres_lie_flat([(*spots[i], chosen[i]) for i in fretted], open_strings):
                yield chosen, over_mm
            return
        index = fretted[at]
        fret = spots[index][1]
        for finger in allowed[index]:
            beyond = over_mm
            if finger == 0:
                continue
            for before, held in zip(fretted, fingers, strict=False):
                gap = _beyond_reach(reach, (held, spots[before][1]), (finger, fret))
                if gap is None or gap > most_over_mm:
                    break
                beyond = max(beyond, gap)
            else:
                yield from extend(at + 1, [*fingers, finger], beyond)

    yield from extend(0, [], 0.0)


def _beyond_reach(reach: Reach, low: tuple[int, int], high: tuple[int, int]) -> float | None:
    """Return how far beyond reach the second (finger, fret) is, in mm; None when the fingers cross or collide."""
    if high[0] < low[0] or (high[0] == low[0] and high[1] != low[1]):
        return None
    if high[0] == low[0] or pair_fits(reach, low, high):
        return 0.0
    return float(reach.fret_mm[high[1]] - reach.fret_mm[low[1]]) - HAND.widest_for(low[0], high[0])


def barres_lie_flat(fretted: list[Spot], open_strings: list[int]) -> bool:
    """Return whether every finger that presses several strings can: together, at one fret, nothing open below it."""
    by_finger: dict[int, list[Spot]] = {}
    for spot in fretted:
        by_finger.setdefault(spot[2], []).append(spot)
    for finger, group in by_finger.items():
        if len(group) == 1:
            continue
        first, last = min(s for s, _, _ in group), max(s for s, _, _ in group)
        fret = group[0][1]
        if last - first + 1 > BARRE_STRINGS[finger] or any(first <= s <= last for s in open_strings):
            return False
        under = (spot for spot in fretted if first <= spot[0] <= last and spot[2] != finger)
        if any(spot[1] <= fret for spot in under):
            return False
    return True
