"""Passage in, fingering out: the table of contents of this room."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from fingering.cautions import cautions_for
from fingering.cost import LEAD_LINE, PROFILES, TERMS, Profile
from fingering.errors import FingeringError
from fingering.fretboard import Fretboard
from fingering.layers import Layer, handed_on
from fingering.locks import check_locks, check_passage
from fingering.moments import moments_of
from fingering.moves import move_counts
from fingering.needs import OCTAVE, Limits
from fingering.passage import Passage, Placement, Pluck
from fingering.paths import Found, Way, search
from fingering.plucking import strokes_for
from fingering.shape_spans import shape_spans
from fingering.solution import Doubt, Fingering

NOT_PROVED = "so much rings here that not every way was tried: from here on there may be an easier one"
RING_CUT_DOUBT = 0.3  # cutting more than this share of a note is worth a word; a choice of ours


def solve(
    passage: Passage,
    fretboard: Fretboard | None = None,
    *,
    profile: str | Profile = LEAD_LINE,
    limits: Mapping[str, Limits] | None = None,
    picking: str = "alternate pick",
) -> Fingering:
    """Return the cheapest fingering of a passage on this neck.

    ``profile`` is a name ("lead line", "country double stops", "classical") or a Profile; ``limits`` maps ids of
    plucks to where they may lie; ``picking`` names a way of picking. A passage nobody can play comes back with the
    least bad placements and doubts that say why; a pitch outside the neck is left out, with a doubt.

    Raises LockError when two fixed strings, frets or fingers contradict each other.

    >>> from fingering import Passage, Pluck, solve
    >>> notes = [Pluck("n1", 0.0, 0.5, 60), Pluck("n2", 0.5, 1.0, 62, join="slide", joined_to="n1")]
    >>> [(p.string, p.fret, p.finger) for p in solve(Passage(tuple(notes))).placements]
    [(3, 5, 1), (3, 7, 1)]
    """
    return k_cheapest(passage, fretboard, profile=profile, limits=limits, picking=picking, k=1)[0]


def k_cheapest(
    passage: Passage,
    fretboard: Fretboard | None = None,
    *,
    profile: str | Profile = LEAD_LINE,
    limits: Mapping[str, Limits] | None = None,
    picking: str = "alternate pick",
    k: int = 2,
) -> tuple[Fingering, ...]:
    """Return the ``k`` cheapest fingerings that differ in some string, fret or finger, cheapest first."""
    neck = fretboard or Fretboard()
    weights = profile_named(profile)
    if not passage.plucks:
        return (Fingering((), {}, 0.0, {}, {}, profile=weights.name),)
    check_passage(passage, neck)
    check_locks(passage, neck, limits or {})
    by_index = limits_by_index(passage, limits or {})
    moments = moments_of(passage)
    found = search(moments, passage.plucks, neck, weights, by_index, k)
    return tuple(fingering_of(passage, found, way, neck, weights, picking) for way in found.ways)


def profile_named(profile: str | Profile) -> Profile:
    """Return the profile of this name, or the profile itself."""
    if isinstance(profile, Profile):
        return profile
    if profile not in PROFILES:
        raise FingeringError(f"there is no cost profile '{profile}'", f"Choose one of: {', '.join(PROFILES)}.")
    return PROFILES[profile]


def limits_by_index(passage: Passage, limits: Mapping[str, Limits]) -> dict[int, Limits]:
    """Return the limits by number of pluck."""
    return {index: limits[pluck.id] for index, pluck in enumerate(passage.plucks) if pluck.id in limits}


def spots_of(found: Found, way: Way, n_plucks: int) -> tuple[tuple[int, int, int], ...]:
    """Return string, fret and finger of every pluck on this way; zeros where a note is left out."""
    spots = [(0, 0, 0)] * n_plucks
    for layer, state in zip(found.layers, way.states, strict=True):
        for column, index in enumerate(layer.moment.new):
            string, fret, finger = (int(value) for value in layer.spots[state, column])
            spots[index] = (string, fret, finger)
    return tuple(spots)


def fingering_of(
    passage: Passage, found: Found, way: Way, fretboard: Fretboard, profile: Profile, picking: str
) -> Fingering:
    """Return the fingering one way through the layers stands for."""
    spots = spots_of(found, way, len(passage.plucks))
    strokes = strokes_for(passage, spots, picking)
    placements = {
        pluck.id: Placement(pluck.id, *spot, stroke, spot[1] + OCTAVE if pluck.artificial else None)
        for pluck, spot, stroke in zip(passage.plucks, spots, strokes, strict=True)
        if spot[0]
    }
    positions, by_note = {}, {}
    total = dict.fromkeys(TERMS, 0.0)
    doubts: list[Doubt] = []
    held: list[list[Placement]] = []
    for at, (layer, state) in enumerate(zip(found.layers, way.states, strict=True)):
        before = (found.layers[at - 1], way.states[at - 1]) if at else None
        costs = _costs(layer, state, before, fretboard, profile)
        for term, cost in costs.items():
            total[term] += cost
        by_note[passage.plucks[layer.moment.new[0]].id] = {term: cost for term, cost in costs.items() if cost}
        for index in layer.moment.new:
            positions[passage.plucks[index].id] = int(layer.position[state])
        doubts += _doubts(passage.plucks, layer, state, before)
        down = [
            passage.plucks[index].id for index, spot in zip(layer.notes, layer.spots[state], strict=True) if spot[1]
        ]
        held.append([placements[name] for name in down])
    if found.unproved:
        first = found.layers[found.unproved[0]].moment.new[0]
        doubts.append(Doubt(passage.plucks[first].id, NOT_PROVED))
    return Fingering(
        placements=tuple(placements.values()),
        positions=positions,
        cost=sum(total.values()),
        cost_by_term={term: cost for term, cost in total.items() if cost},
        cost_by_note=by_note,
        doubts=tuple(doubts),
        shapes=shape_spans(tuple(placements.values()), fretboard, passage),
        cautions=cautions_for(passage, [layer.moment for layer in found.layers], held, fretboard),
        profile=profile.name,
        by_id=placements,
        proved_cheapest=not found.unproved,
    )


def _costs(
    layer: Layer, state: int, before: tuple[Layer, int] | None, fretboard: Fretboard, profile: Profile
) -> dict[str, float]:
    counts = {term: float(layer.counts[state, column]) for column, term in enumerate(TERMS)}
    if before is not None:
        for term, count in move_counts(before[0], before[1], layer, state, fretboard, profile).items():
            counts[term] += count
    return {term: count * profile[term] for term, count in counts.items()}


def _doubts(plucks: tuple[Pluck, ...], layer: Layer, state: int, before: tuple[Layer, int] | None) -> list[Doubt]:
    doubts = [
        Doubt(plucks[index].id, fault)
        for index, fault in zip(layer.moment.new, layer.faults[layer.grip_of[state]], strict=True)
        if fault
    ]
    if before is None:
        return doubts
    joined = {plucks[index].joined_to: at for at, index in enumerate(layer.moment.new) if plucks[index].joined_to}
    (held,) = handed_on(before[0].take(np.array([before[1]])), layer.moment)
    for column, index in enumerate(layer.moment.held):
        pluck, was = plucks[index], held[column]
        if pluck.id in joined:
            new = joined[pluck.id]
            doubts += _join_doubt(plucks[layer.moment.new[new]], new, was, layer, state)
            continue
        now = layer.spots[state, len(layer.moment.new) + column]
        lost_s = pluck.end_s - layer.moment.onset_s
        if was[0] and not now[0] and (pluck.let_ring or lost_s > RING_CUT_DOUBT * (pluck.end_s - pluck.onset_s)):
            doubts.append(Doubt(pluck.id, "it cannot ring to its end: its string or finger is needed before"))
    return doubts


def _join_doubt(pluck: Pluck, column: int, was: np.ndarray, layer: Layer, state: int) -> list[Doubt]:
    string, fret, finger = (int(value) for value in layer.spots[state, column])
    if string == 0 or was[0] == 0:
        return []
    if string != was[0]:
        return [Doubt(pluck.id, f"the {pluck.join} from {pluck.joined_to} does not fit on one string")]
    if pluck.join == "slide":
        fits = finger == was[2] and finger > 0
        why = "a slide needs one finger on fretted notes"
    else:
        fits = (fret > was[1] and (finger > was[2] or was[2] == 0)) or (fret < was[1] and finger < was[2])
        why = f"the {pluck.join} needs another finger than the note before"
    return [] if fits else [Doubt(pluck.id, why)]
