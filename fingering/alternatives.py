"""Other places on the neck for the same notes: fingerings that are really different, and how they would sound."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from statistics import mean, median

from fingering.cost import LEAD_LINE, Profile
from fingering.fretboard import FIRST_WOUND_STRING, Fretboard
from fingering.hand import reach_on
from fingering.locks import check_locks, check_passage
from fingering.moments import moments_of
from fingering.near import search_near
from fingering.needs import Limits
from fingering.passage import Passage
from fingering.search import fingering_of, limits_by_index, profile_named, solve, spots_of
from fingering.solution import Fingering, ordinal

SHAPES_NAMED = 3  # a longer passage goes through more; these give the picture; a choice of ours
MOST_NOTES = 0.6  # so many must move alike before the passage is said to move; a choice of ours
OTHER_STRINGS = 0.3  # at least this share of notes lies on another string; a choice of ours


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to play the passage, and what sets it apart from the first."""

    fingering: Fingering
    extra_cost: float  # above the first, what the sound says left out; below 0 for one that is easier
    where: str  # "the same pitches on the next string set down, G-shape at the 12th fret"
    sound: str  # "darker: 5 more notes on wound strings"


def alternatives(
    passage: Passage,
    fretboard: Fretboard | None = None,
    *,
    profile: str | Profile = LEAD_LINE,
    limits: Mapping[str, Limits] | None = None,
    picking: str = "alternate pick",
    count: int = 4,
) -> tuple[Alternative, ...]:
    """Return the cheapest fingering and up to ``count`` really different ones, cheapest first.

    Two fingerings are different when a third of the notes lie on other strings. Each is the cheapest with the hand
    near one part of the neck. Where the sound speaks for strings (``string_weights``) the first one heeds it; the
    others are asked of the hand alone, so one of them may be easier. Raises LockError when fixed values contradict
    each other.
    """
    neck = fretboard or Fretboard()
    weights = profile_named(profile)
    if not passage.plucks:
        return ()
    check_passage(passage, neck)
    check_locks(passage, neck, limits or {})
    heard = None
    if any(pluck.string_weights is not None for pluck in passage.plucks):
        heard = solve(passage, neck, profile=weights, limits=limits, picking=picking)
        passage = Passage(tuple(replace(pluck, string_weights=None) for pluck in passage.plucks))
    anchors = (None, *_anchors(passage, neck))
    found = search_near(
        moments_of(passage), passage.plucks, neck, weights, limits_by_index(passage, limits or {}), anchors
    )
    chosen = [heard or fingering_of(passage, found, found.ways[0], neck, weights, picking)]
    for way in sorted(found.ways if heard else found.ways[1:], key=lambda way: way.cost):
        if len(chosen) > count:
            break
        spots = spots_of(found, way, len(passage.plucks))
        if all(_share_moved(spots, taken, passage) >= OTHER_STRINGS for taken in chosen):
            other = fingering_of(passage, found, way, neck, weights, picking)
            if len(other.by_id) == len(chosen[0].by_id) and other.faults <= chosen[0].faults:
                chosen.append(other)
    best = chosen[0]
    return tuple(
        Alternative(
            fingering,
            _hand_cost(fingering) - _hand_cost(best),
            _where(fingering, best),
            "" if fingering is best else _sound(fingering, best),
        )
        for fingering in chosen
    )


def _hand_cost(fingering: Fingering) -> float:
    return fingering.cost - fingering.cost_by_term.get("sound", 0.0)


def _anchors(passage: Passage, neck: Fretboard) -> list[int]:
    """Return hand positions that bring the middle pitch of the passage under the hand, on each string in turn."""
    middle = round(median(pluck.midi for pluck in passage.plucks))
    last = reach_on(neck).positions
    frets = (neck.fret_for(string, middle) for string in range(1, len(neck.open_midi) + 1))
    positions = {min(max(1, fret - 1), last) for fret in frets if fret is not None}
    return sorted(positions)


def _share_moved(spots: tuple[tuple[int, int, int], ...], other: Fingering, passage: Passage) -> float:
    """Return the share of notes that lie on another string, or in only one of the two."""
    moved = sum(1 for spot, pluck in zip(spots, passage.plucks, strict=True) if spot[0] != _string(other, pluck.id))
    return moved / max(1, len(spots))


def _string(fingering: Fingering, name: str) -> int:
    placement = fingering.placement(name)
    return placement.string if placement else 0


def _where(fingering: Fingering, best: Fingering) -> str:
    """Return how far the strings moved, then where the passage lies."""
    return ", ".join([*([] if fingering is best else [_moved(fingering, best)]), lies_in(fingering)])


def lies_in(fingering: Fingering) -> str:
    """Return the shapes a passage lies in, in words, or the middle of its frets: the end of ``Alternative.where``."""
    named = dict.fromkeys(
        f"{span.name} {'in open position' if span.fret == 0 else f'at the {ordinal(span.fret)} fret'}"
        for span in fingering.shapes
    )
    if named:
        return " then ".join(list(named)[:SHAPES_NAMED])
    fretted = [placement.fret for placement in fingering.placements if placement.fret > 0]
    return f"around the {ordinal(round(median(fretted)))} fret" if fretted else "on open strings"


def _moved(fingering: Fingering, best: Fingering) -> str:
    """Return which way the notes moved over the strings, against the cheapest."""
    steps = [_string(fingering, name) - _string(best, name) for name in fingering.by_id if name in best.by_id]
    moved = [step for step in steps if step]
    if not moved:
        return "the same strings"
    if min(moved) < 0 < max(moved) or len(moved) < MOST_NOTES * len(steps):
        return f"{len(moved)} of {len(steps)} notes on other strings"
    many = round(abs(mean(moved)))
    far = "the next string set" if many == 1 else f"{many} strings"
    way = "down" if moved[0] > 0 else "up"
    return f"the same pitches on {far} {way}" if many == 1 else f"the same pitches {far} {way}"


def _sound(fingering: Fingering, best: Fingering) -> str:
    def wound(one: Fingering) -> int:
        return sum(1 for placement in one.placements if placement.string >= FIRST_WOUND_STRING)

    def opened(one: Fingering) -> int:
        return sum(1 for placement in one.placements if placement.fret == 0)

    words = []
    more_wound = wound(fingering) - wound(best)
    if more_wound:
        tone = "darker" if more_wound > 0 else "brighter"
        words.append(f"{tone}: {_count(more_wound, 'note')} on wound strings")
    more_open = opened(fingering) - opened(best)
    if more_open:
        words.append(
            f"{_count(more_open, 'open note')}, "
            f"{'ringing on and never shaken' if more_open > 0 else 'so more of them can be shaken and stopped'}"
        )
    higher = mean(p.fret for p in fingering.placements) - mean(p.fret for p in best.placements)
    if abs(higher) >= 1.0:
        words.append("rounder, on shorter strings" if higher > 0 else "clearer, on longer strings")
    return "; ".join(words) or "much the same sound"


def _count(difference: int, what: str) -> str:
    """Return ``1 more note`` or ``3 fewer notes``."""
    plural = "" if abs(difference) == 1 else "s"
    return f"{abs(difference)} {'more' if difference > 0 else 'fewer'} {what}{plural}"
