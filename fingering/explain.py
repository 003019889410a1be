"""Why this place: the cost, term by term, in a guitarist's words, against the runner-up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fingering.alternatives import alternatives
from fingering.cost import LEAD_LINE, TERMS, Profile
from fingering.errors import PassageError
from fingering.fretboard import Fretboard
from fingering.needs import FREE, Limits
from fingering.passage import Passage, Placement
from fingering.search import solve
from fingering.solution import Fingering, ordinal

WORTH_SAYING = 0.05  # smaller differences of cost are not put in words; a choice of ours


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why a place, or a whole fingering, was chosen."""

    chosen: Fingering
    runner_up: Fingering | None  # the cheapest with this note on another string, or the next different fingering
    margin: float  # how much more the runner-up costs
    words: tuple[str, ...]  # lines to print
    gains: Mapping[str, float]  # term -> what the runner-up costs more (below zero: less)


def explain(
    passage: Passage,
    fretboard: Fretboard | None = None,
    *,
    profile: str | Profile = LEAD_LINE,
    limits: Mapping[str, Limits] | None = None,
    note: str | None = None,
) -> Explanation:
    """Return why the passage lies where it does; with ``note``, why that note does.

    Raises PassageError when there is no such note.
    """
    neck = fretboard or Fretboard()
    given = dict(limits or {})
    chosen = solve(passage, neck, profile=profile, limits=given)
    if note is None:
        others = alternatives(passage, neck, profile=profile, limits=given, count=1)[1:]
        return _compare(chosen, others[0].fingering if others else None, _whole(chosen))
    pluck = next((pluck for pluck in passage.plucks if pluck.id == note), None)
    if pluck is None:
        raise PassageError(f"there is no note {note} in this passage", "Give the id of one of its notes.")
    place = chosen.placement(note)
    if place is None:
        why = next((doubt.why for doubt in chosen.doubts if doubt.id == note), "nobody could place it")
        return Explanation(chosen, None, 0.0, (f"{note} is not placed: {why}",), {})
    if pluck.locked_string is not None or pluck.locked_fret is not None:
        return Explanation(chosen, None, 0.0, (f"{_place(place)}: you fixed it there",), {})
    old = given.get(note, FREE)
    strings = (old.strings or frozenset(range(1, len(neck.open_midi) + 1))) - {place.string}
    elsewhere = Limits(strings, old.frets, old.positions, old.places)
    other = solve(passage, neck, profile=profile, limits={**given, note: elsewhere})
    moved = other.placement(note)
    if moved is None or moved.string == place.string or other.faults > chosen.faults:
        return Explanation(chosen, None, 0.0, (f"{_place(place)}: the only place a hand can play it here",), {})
    return _compare(chosen, other, f"{_place(place)}, rather than {_place(moved)}")


def _place(place: Placement) -> str:
    if place.fret == 0:
        return f"string {place.string} open"
    return f"string {place.string}, {ordinal(place.fret)} fret, finger {place.finger}"


def _whole(chosen: Fingering) -> str:
    if chosen.shapes:
        return "lies in " + "; ".join(str(span) for span in chosen.shapes)
    return "the cheapest way to play all of it"


def _compare(chosen: Fingering, other: Fingering | None, heading: str) -> Explanation:
    if other is None:
        return Explanation(chosen, None, 0.0, (heading, "there is no really different way to play it"), {})
    terms = {**chosen.cost_by_term, **other.cost_by_term}
    gains = {term: other.cost_by_term.get(term, 0.0) - chosen.cost_by_term.get(term, 0.0) for term in terms}
    told = sorted(((gain, term) for term, gain in gains.items() if abs(gain) >= WORTH_SAYING), reverse=True)
    margin = other.cost - chosen.cost
    words = [heading, f"the runner-up costs {margin:.1f} more"]
    words += [f"saves {gain:.1f} on {TERMS[term]}" for gain, term in told if gain > 0]
    words += [f"though it spends {-gain:.1f} more on {TERMS[term]}" for gain, term in told[::-1] if gain < 0]
    return Explanation(chosen, other, margin, tuple(words), gains)
