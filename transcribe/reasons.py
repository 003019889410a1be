"""Why a way of playing is easy or hard, how the hand moves, how it sounds: in words, one reason a line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from fingering.alternatives import Alternative
from fingering.cost import TERMS
from fingering.moments import TOGETHER_S
from fingering.solution import Caution, Doubt, Fingering, ordinal
from transcribe.document.model import TakeNote

WORTH_SAYING = 0.1  # of effort; smaller differences are not put in words; a choice of ours
MOST_TERMS = 4  # reasons told for one way
MOST_POSITIONS = 6  # hand positions named one by one
MUCH_HARDER = 2.5  # times the effort of the first; a choice of ours
HARDER_EACH = 0.25  # effort a note, on top, of four notes or more: a shift in every four; a choice of ours
NOT_EFFORT = ("fault", "sound")  # terms of the cost that no hand feels
SURE = 0.5  # a string with more than half of the weight is the one that was heard
UNIT = "effort 1 is moving the hand to another position within a quarter of a second"


def reasons_for(way: Alternative, first: Alternative, notes: Sequence[TakeNote] = ()) -> tuple[str, ...]:
    """Return how the hand moves, what the way costs against the first one, how it sounds, and what to look at.

    ``notes`` tell how many of them sound as if played on the strings of this way.
    """
    told = [hand_words(way.fingering), *_effort(way, first), *_heard(way.fingering, notes)]
    if way.sound:
        told.append(f"sound: {way.sound}")
    if len(way.fingering.shapes) > 1:
        told.append("shapes: " + "; ".join(_span(way.fingering, index) for index in range(len(way.fingering.shapes))))
    told += _skipping(way.fingering, notes)
    told += _gathered("take care at", way.fingering.cautions)
    told += _gathered("look at", way.fingering.doubts)
    return tuple(told)


def _gathered(lead: str, remarks: Sequence[Caution] | Sequence[Doubt]) -> list[str]:
    """Return each thing to say once, with the notes it is said of."""
    notes: dict[str, list[str]] = {}
    for remark in remarks:
        notes.setdefault(remark.why, []).append(remark.id)
    return [f"{lead} {_some(ids)}: {why}" for why, ids in notes.items()]


def _some(ids: Sequence[str]) -> str:
    return ", ".join(ids if len(ids) <= MOST_POSITIONS else [*ids[: MOST_POSITIONS - 1], "..."])


def hand_words(fingering: Fingering) -> str:
    """Return where the hand stands: ``hand: stays in 5th position``.

    A position is the fret under the index finger.
    """
    stands = [position for position, _ in groupby(fingering.positions[item.id] for item in fingering.placements)]
    if not stands:
        return "hand: nothing to play"
    if all(item.fret == 0 for item in fingering.placements):
        return "hand: open strings alone"
    if len(stands) == 1:
        return f"hand: stays in {ordinal(stands[0])} position"
    shifts = len(stands) - 1
    many = f"{shifts} shift{'' if shifts == 1 else 's'}"
    if len(stands) <= MOST_POSITIONS:
        return f"hand: {many}, positions {' '.join(map(str, stands))}"
    return f"hand: {many} between positions {min(stands)} and {max(stands)}"


def effort_of(fingering: Fingering) -> float:
    """Return what the fingering asks of the hand: its cost without faults and without what the sound speaks for."""
    return fingering.cost - sum(fingering.cost_by_term.get(term, 0.0) for term in NOT_EFFORT)


def _effort(way: Alternative, first: Alternative) -> list[str]:
    effort, mine = effort_of(way.fingering), _terms(way.fingering)
    differences, sign, against = mine, "", ""
    if way is not first:
        base = _terms(first.fingering)
        differences, sign = {term: mine.get(term, 0.0) - base.get(term, 0.0) for term in {**mine, **base}}, "+"
        more = effort - effort_of(first.fingering)
        against = f", {abs(more):.1f} {'more' if more >= 0 else 'less'} than the first"
    order = sorted(differences, key=lambda term: -abs(differences[term]))
    told = [term for term in order if abs(differences[term]) >= WORTH_SAYING][:MOST_TERMS]
    lines = ["not all of it can be played as written: look below"] if way.fingering.faults else []
    if _much_harder(way.fingering, first.fingering):
        lines.append("much harder than the first: another place to study rather than the one to play")
    lines.append(f"effort {effort:.1f}{against}" + (":" if told else ""))
    return [*lines, *(f"  {differences[term]:{sign}.1f} {TERMS[term]}" for term in told)]


def _heard(fingering: Fingering, notes: Sequence[TakeNote]) -> list[str]:
    """Return how many of the notes whose sound names a string lie on that string; empty when none does."""
    sure = {take.id: take.note.string_weights for take in notes if max(take.note.string_weights or (0.0,)) > SURE}
    placed = [item for item in fingering.placements if item.id in sure]
    if not placed:
        return []
    right = sum(1 for item in placed if (sure[item.id] or ())[item.string - 1] > SURE)
    return [f"heard: {right} of {len(placed)} notes sound as if played on these strings"]


def _much_harder(fingering: Fingering, first: Fingering) -> bool:
    """Return whether the hand works several times as hard, and by more than small change."""
    effort, least = effort_of(fingering), effort_of(first)
    return effort > MUCH_HARDER * least and effort - least > HARDER_EACH * max(4, len(fingering.placements))


def _skipping(fingering: Fingering, notes: Sequence[TakeNote]) -> list[str]:
    """Return the word on notes that one stroke of the pick cannot strike alone: a string lies between theirs."""
    struck = [take for take in notes if (place := fingering.placement(take.id)) and place.stroke in ("down", "up")]
    where = []
    for _, group in groupby(_with_onsets(struck), key=lambda pair: pair[0]):
        together = [take for _, take in group]
        strings = {fingering.by_id[take.id].string for take in together}
        if max(strings) - min(strings) + 1 > len(strings):
            where.append(together[0].id)
    if not where:
        return []
    return [
        f"picking: a string lies between the notes struck at {_some(where)}: mute it, or play with pick and fingers"
    ]


def _with_onsets(takes: Sequence[TakeNote]) -> Iterator[tuple[float, TakeNote]]:
    """Yield each note with the onset of the stroke it belongs to."""
    begun_s = float("-inf")
    for take in sorted(takes, key=lambda take: take.note.onset_s):
        if take.note.onset_s - begun_s > TOGETHER_S:
            begun_s = take.note.onset_s
        yield begun_s, take


def _terms(fingering: Fingering) -> Mapping[str, float]:
    return {term: cost for term, cost in fingering.cost_by_term.items() if term not in NOT_EFFORT and cost > 0}


def _span(fingering: Fingering, index: int) -> str:
    span = fingering.shapes[index]
    return f"{span} ({span.first_id} to {span.last_id})"
