"""Which shape each stretch of a fingering lies in, named so that the fewest and plainest names cover it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from fingering.fretboard import Fretboard
from fingering.harmonies import LINE_CHORDS, LINE_SCALES, Harmony, row_kind, tones_of, triad_of
from fingering.passage import Passage, Placement
from fingering.regions import Region, regions_of, standard_strings
from fingering.solution import ShapeSpan

# How much must be heard before a name is given; choices of ours.
CHORD_STRINGS = 3  # a chord, struck or spread, on this many strings
PITCHES = {"pentatonic": 5, "blues": 6, "scale": 6}  # a line in a box or scale with this many different places
ROW_LENGTH = 3  # thirds or sixths in a row
# What a name costs, and a note without one: few names and plain ones win; choices of ours.
NAME_COSTS = {"chord": 1.0, "row": 1.2, "pentatonic": 1.6, "blues": 2.2, "scale": 2.6}
RICHER_CHORD = 0.4  # a seventh chord where triads might do
UNNAMED = 0.5
LONGEST = 64  # notes a span is looked for ahead; longer ones are joined


@dataclass(frozen=True, slots=True)
class _Candidate:
    end: int
    name: str
    fret: int
    cost: float


def shape_spans(
    placements: Sequence[Placement], fretboard: Fretboard, passage: Passage | None = None
) -> tuple[ShapeSpan, ...]:
    """Return the shapes the notes pass through, in order; stretches that lie in none are left out.

    Chords, pentatonic boxes, blues and seven-note scales in one shape are named, and closed triads, thirds and sixths
    on their strings. ``passage`` says which notes are struck together. Only strings that stand to one another as in
    standard tuning have shapes.
    """
    strings, _ = standard_strings(fretboard)
    if not strings:
        return ()
    masks = [_masks(fretboard).get((p.string, p.fret), _NONE) for p in placements]
    groups = _groups(placements, passage)
    best: list[tuple[float, _Candidate | None]] = [(0.0, None)] * (len(placements) + 1)
    for at in range(len(placements) - 1, -1, -1):
        best[at] = (best[at + 1][0] + UNNAMED, None)
        for candidate in _candidates(placements, masks, groups, at, fretboard):
            total = best[candidate.end][0] + candidate.cost
            if total < best[at][0] - 1e-9:
                best[at] = (total, candidate)
    spans: list[ShapeSpan] = []
    at, last_end = 0, -1
    while at < len(placements):
        chosen = best[at][1]
        if chosen is None:
            at += 1
            continue
        first, last = placements[at].id, placements[chosen.end - 1].id
        if spans and (spans[-1].name, spans[-1].fret) == (chosen.name, chosen.fret) and last_end == at:
            first = spans.pop().first_id
        spans.append(ShapeSpan(first, last, chosen.name, chosen.fret))
        at, last_end = chosen.end, chosen.end
    return tuple(spans)


_KINDS = ("chord", "pentatonic", "blues", "scale")
_NONE = (0, 0, 0, 0)


def _sort_of(kind: str) -> str:
    return "chord" if kind in LINE_CHORDS else kind.rsplit(" ", maxsplit=1)[-1]


@lru_cache(maxsize=8)
def _regions(fretboard: Fretboard) -> dict[str, tuple[Region, ...]]:
    """Return every region of the neck by sort, the plainest and those nearest the nut first."""
    found: dict[str, list[Region]] = {sort: [] for sort in _KINDS}
    for kind in (*LINE_CHORDS, *LINE_SCALES):
        regions = [region for root in range(12) for region in regions_of(Harmony(root, kind), fretboard)]
        found[_sort_of(kind)] += sorted(regions, key=lambda region: region.fret)
    return {sort: tuple(regions) for sort, regions in found.items()}


@lru_cache(maxsize=8)
def _masks(fretboard: Fretboard) -> dict[tuple[int, int], tuple[int, ...]]:
    """Return, per (string, fret), the set of regions of each sort that hold it, one bit a region."""
    masks: dict[tuple[int, int], list[int]] = {}
    for sort, regions in _regions(fretboard).items():
        for bit, region in enumerate(regions):
            for place in region.places:
                masks.setdefault(place, [0, 0, 0, 0])[_KINDS.index(sort)] |= 1 << bit
    return {place: tuple(mask) for place, mask in masks.items()}


def _groups(placements: Sequence[Placement], passage: Passage | None) -> list[int]:
    """Return, for each placement, the index just after the notes struck together from it on."""
    onsets = {pluck.id: pluck.onset_s for pluck in passage.plucks} if passage is not None else {}
    ends = list(range(1, len(placements) + 1))
    for at in range(len(placements) - 2, -1, -1):
        here, after = (onsets.get(placements[index].id) for index in (at, at + 1))
        if here is not None and after is not None and after - here < 1e-3:
            ends[at] = ends[at + 1]
    return ends


def _candidates(
    placements: Sequence[Placement],
    masks: Sequence[tuple[int, ...]],
    groups: Sequence[int],
    at: int,
    fretboard: Fretboard,
) -> list[_Candidate]:
    found = _row(placements, groups, at, fretboard)
    triad = _triad(placements, at, fretboard)
    if triad is not None:
        found.append(triad)
    for column, sort in enumerate(_KINDS):
        shared, end = masks[at][column], at
        while end < min(len(placements), at + LONGEST) and (more := shared & masks[end][column]):
            shared, end = more, end + 1
        region = _heard(placements[at:end], shared, sort, fretboard)
        if region is not None:
            richer = RICHER_CHORD if LINE_CHORDS.get(region.harmony.kind) else 0.0
            found.append(_Candidate(end, region.name, region.fret, NAME_COSTS[sort] + richer))
    return found


def _heard(run: Sequence[Placement], shared: int, sort: str, fretboard: Fretboard) -> Region | None:
    """Return the plainest region that holds the run, when enough of it is heard."""
    places = {(placement.string, placement.fret) for placement in run}
    if sort != "chord" and len(places) < PITCHES[sort]:
        return None
    if sort == "chord" and len({string for string, _ in places}) < CHORD_STRINGS:
        return None
    regions = [region for bit, region in enumerate(_regions(fretboard)[sort]) if shared >> bit & 1]
    if sort == "chord":
        heard = {fretboard.midi_at(string, fret) % 12 for string, fret in places}
        whole = [region for region in regions if _tones(region.harmony) <= heard]
        return min(whole, key=lambda region: (LINE_CHORDS[region.harmony.kind], not region.is_usual), default=None)
    midis = [fretboard.midi_at(placement.string, placement.fret) for placement in run]
    return max(regions, key=lambda region: _rooted(region, midis), default=None)


def _tones(harmony: Harmony) -> set[int]:
    """Return the pitch classes a chord must be heard with: all, though a seventh chord may lack its fifth."""
    tones = tones_of(harmony.kind)
    return {(harmony.root + tone) % 12 for tone in tones if len(tones) == 3 or tone != 7}


def _rooted(region: Region, midis: Sequence[int]) -> tuple[float, bool]:
    """Return how much a run speaks for the root of the region: the last note most, then the first."""
    root = region.harmony.root
    share = sum(midi % 12 == root for midi in midis) / len(midis)
    # unless the run says otherwise, a box is called minor and a scale major: common practice
    plain_first = region.harmony.kind in ("minor pentatonic", "major scale")
    return share + 0.35 * (midis[-1] % 12 == root) + 0.2 * (midis[0] % 12 == root) + 0.4 * plain_first, region.is_usual


def _row(placements: Sequence[Placement], groups: Sequence[int], at: int, fretboard: Fretboard) -> list[_Candidate]:
    """Return thirds, sixths or octaves in a row on the same two strings, from this note on."""
    kind, strings, end, lowest, count = "", (0, 0), at, 99, 0
    while end < len(placements) and groups[end] - end == 2:
        pair = placements[end : end + 2]
        held = row_kind(fretboard.midi_at(place.string, place.fret) for place in pair)
        on = (min(place.string for place in pair), max(place.string for place in pair))
        if not held or (kind and (held, on) != (kind, strings)):
            break
        kind, strings, end, count = held, on, end + 2, count + 1
        lowest = min(lowest, *(place.fret for place in pair))
    if count < ROW_LENGTH:
        return []
    return [_Candidate(end, f"{kind} on strings {strings[0]} and {strings[1]}", lowest, NAME_COSTS["row"])]


def _triad(placements: Sequence[Placement], at: int, fretboard: Fretboard) -> _Candidate | None:
    """Return a closed triad on three neighbouring strings, struck or spread, that starts here."""
    run = placements[at : at + 3]
    strings = sorted(place.string for place in run)
    if len(run) < 3 or strings[2] - strings[0] != 2 or len(set(strings)) < 3:
        return None
    midis = [fretboard.midi_at(place.string, place.fret) for place in run]
    triad = triad_of(midis)
    if triad is None or max(midis) - min(midis) >= 12:
        return None
    _, quality, inversion = triad
    form = ("root position", "first inversion", "second inversion")[inversion]
    name = f"{quality} triad in {form} on strings {strings[2]}-{strings[1]}-{strings[0]}"
    return _Candidate(at + 3, name, min(place.fret for place in run), NAME_COSTS["chord"] + 0.1)
