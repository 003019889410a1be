"""Sound and hand together: of the guitars that could have sounded so, the one on which the phrase is best played."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from fingering.cost import Profile
from fingering.fretboard import Fretboard
from fingering.passage import Passage
from fingering.search import solve
from fingering.solution import Fingering
from transcribe.evidence.string_sets import Explanation
from transcribe.notes.note import Doubt, Note
from transcribe.placing import passage_from_notes

NEARLY_AS_WELL = 1.5  # a rival explanation within this (a factor of e each) leaves the strings in doubt
SHARE_MOVED = 1 / 3  # of the notes it would put on another string


@dataclass(frozen=True, slots=True)
class Stringing:
    """Notes with what the sound says of their strings, and the fingering that hand and sound agree on."""

    notes: tuple[Note, ...]
    fingering: Fingering
    doubts: tuple[Doubt, ...] = ()


def string_and_place(
    notes: Sequence[Note],
    explanations: Sequence[Explanation],
    fretboard: Fretboard,
    *,
    profile: Profile | str,
    beats: Mapping[str, Fraction] | None = None,
) -> Stringing:
    """Return the cheapest fingering over all explanations of the sound, its cost weighed against their worth.

    A unit of cost is a factor of e of likelihood, as in the fingering's term for the sound. With no explanation the
    fingering stands alone. ``beats`` tells where the notes are written (see ``passage_from_notes``).
    """
    passage = passage_from_notes(notes, beats)
    if not explanations:
        return Stringing(tuple(notes), solve(passage, fretboard, profile=profile))
    least = solve(passage, fretboard, profile=profile).cost if len(explanations) > 2 else 0.0  # whatever the sound says
    tried: list[tuple[float, tuple[Note, ...], Fingering]] = []
    for explanation in explanations:
        if tried and least - explanation.worth >= min(cost for cost, _, _ in tried) + NEARLY_AS_WELL:
            continue  # neither the best nor a rival, whatever its fingering costs
        told = tuple(
            replace(note, string_weights=weights) for note, weights in zip(notes, explanation.weights, strict=True)
        )
        fingering = solve(_weighed(passage, told), fretboard, profile=profile)
        tried.append((fingering.cost - explanation.worth, told, fingering))
    total, told, best = min(tried, key=lambda each: each[0])
    rivals = [fingering for cost, _, fingering in tried if cost < total + NEARLY_AS_WELL]
    return Stringing(told, best, _rivalry(best, rivals))


def _weighed(passage: Passage, notes: Sequence[Note]) -> Passage:
    weights = {note.id: note.string_weights for note in notes}
    return Passage(tuple(replace(pluck, string_weights=weights[pluck.id]) for pluck in passage.plucks))


def _rivalry(best: Fingering, rivals: Sequence[Fingering]) -> tuple[Doubt, ...]:
    """A doubt about the take when the sound would have much of it on other strings nearly as well."""
    strings = [placement.string for placement in best.placements]
    for rival in rivals:
        others = [placement.string for placement in rival.placements]
        moved = sum(here != there for here, there in zip(strings, others, strict=False))
        if len(others) == len(strings) and moved > SHARE_MOVED * len(strings):
            return (
                Doubt(
                    f"the strings are unsure: {moved} of {len(strings)} notes sound nearly as likely on other strings; "
                    "compare the other positions"
                ),
            )
    return ()
