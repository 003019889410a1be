"""Passage -> moments: the plucks that start together, and what is still ringing or waited for at each."""

from __future__ import annotations

from dataclasses import dataclass

from fingering.harmonies import NO_LINK, Link, links_of
from fingering.passage import Passage, Pluck

TOGETHER_S = 0.035  # notes of one strum start within this; common practice
OVERLAP_S = 0.06  # a note that ends this soon after the next one starts was meant to end there; common practice


@dataclass(frozen=True, slots=True)
class Moment:
    """Plucks that start together. Numbers index ``Passage.plucks``."""

    onset_s: float
    since_s: float  # time since the moment before: what the hand has to move in
    new: tuple[int, ...]
    held: tuple[int, ...]  # earlier plucks that ring on past this moment, or that a later pluck is joined to
    midis: tuple[int, ...]  # pitches of ``new``
    link: Link = NO_LINK  # what its pitches share with the moment before

    pitched: tuple[int, ...] = ()  # columns of ``new`` that belong to a shape: no dead notes, no harmonics
    free: tuple[int, ...] = ()  # columns of ``held`` that ring without a finger: natural harmonics

    def repeated_in(self, after: Moment) -> list[tuple[int, int]]:
        """Return the columns of new notes that the next moment plays again, here and there."""
        return [
            (here, there)
            for here, midi in enumerate(self.midis)
            for there, again in enumerate(after.midis)
            if midi == again
        ]


def moments_of(passage: Passage) -> tuple[Moment, ...]:
    """Return the moments of a passage in order of time; every pluck is new in exactly one.

    A note rings until its end, or until its pitch is struck again.
    """
    plucks = passage.plucks
    number = {pluck.id: index for index, pluck in enumerate(plucks)}
    group_of, groups = _grouped(passage, number)
    last_needed = list(group_of)
    pitches = [{plucks[index].midi for index in group} for group in groups]
    onsets = [plucks[group[0]].onset_s for group in groups]
    for index, pluck in enumerate(plucks):
        at = group_of[index] + 1
        while at < len(groups) and onsets[at] < pluck.end_s - OVERLAP_S and pluck.midi not in pitches[at]:
            last_needed[index] = at
            at += 1
    for index, pluck in enumerate(plucks):
        if pluck.joined_to is not None:
            source = number[pluck.joined_to]
            last_needed[source] = max(last_needed[source], group_of[index])
    # dead notes and harmonics lie in any shape
    links = links_of([[plucks[i].midi for i in group if not _is_unpitched(plucks[i])] for group in groups])
    moments = []
    live: list[int] = []
    for at, group in enumerate(groups):
        held = tuple(index for index in live if last_needed[index] >= at)
        live = [index for index in (*held, *group) if last_needed[index] > at]
        since_s = onsets[at] - onsets[at - 1] if at else 1.0
        pitched = tuple(column for column, index in enumerate(group) if not _is_unpitched(plucks[index]))
        free = tuple(column for column, index in enumerate(held) if plucks[index].harmonic)
        midis = tuple(plucks[i].midi for i in group)
        moments.append(Moment(onsets[at], since_s, tuple(group), held, midis, links[at], pitched, free))
    return tuple(moments)


def _is_unpitched(pluck: Pluck) -> bool:
    return pluck.dead or pluck.harmonic or pluck.artificial


def _grouped(passage: Passage, number: dict[str, int]) -> tuple[list[int], list[list[int]]]:
    groups: list[list[int]] = []
    group_of: list[int] = []
    for index, pluck in enumerate(passage.plucks):
        source = number.get(pluck.joined_to) if pluck.joined_to is not None else None
        starts_group = (
            not groups
            or pluck.onset_s - passage.plucks[groups[-1][0]].onset_s > TOGETHER_S
            or (source is not None and group_of[source] == len(groups) - 1)
        )
        if starts_group:
            groups.append([])
        groups[-1].append(index)
        group_of.append(len(groups) - 1)
    return group_of, groups
