"""Strands and strikes to lines: the pitch of one string from each strike to the next.

A strand that begins with no pick, soon after another, goes on from it: the finger hammered, pulled or slid. A strike
inside a strand cuts it when it was a pick, and not when a finger only touched the string.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.evidence import Evidence
from transcribe.notes.attack import ENVELOPE_HOP_S, Envelope, Strike
from transcribe.notes.contacts import is_new_pick, without_contacts
from transcribe.notes.moves import Line
from transcribe.notes.starts import struck_at_pitch
from transcribe.notes.track import Strand
from transcribe.settings import NoteSettings


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """One line and how it began; ``line`` starts after the strike, where the pitch can be read."""

    line: Line
    onset_s: float
    end_s: float
    strike: Strike | None  # None: it begins without one
    joins: bool = False  # the sound went on from the stretch before without a pause (a re-pick, or a cut)


def draw_lines(
    struck: tuple[tuple[Strand, Strike | None], ...],
    strikes: tuple[Strike, ...],
    loudness: Envelope,
    evidence: Evidence,
    settings: NoteSettings,
) -> tuple[Stretch, ...]:
    """Return the stretches of all strands in time order, linked over legato and cut at picks."""
    strands = [strand for strand, _ in struck]
    began = [strike for _, strike in struck]
    taken = {strike for strike in began if strike is not None}
    chains: list[list[int]] = []
    for k, strand in enumerate(strands):
        strike, chain = began[k], None
        if strike is None or strike.pick_likelihood < settings.pick_sure:
            chain = _goes_on_from(strand, strands, chains, evidence, settings)
        if chain is None:
            chains.append([k])
        else:
            chain.append(k)
    stretches: list[Stretch] = []
    for chain in chains:
        whole = _joined([strands[k] for k in chain], evidence, settings)
        own = {began[k] for k in chain[1:]}
        inside = [
            strike
            for strike in strikes
            if (strike not in taken or strike in own)
            and struck_at_pitch(strike, _pitch_at(whole, strike.time_s), evidence, reach_s=settings.onset_reach_s)
        ]
        stretches += _cut(whole, began[chain[0]], inside, loudness, settings)
    return tuple(sorted(stretches, key=lambda stretch: stretch.onset_s))


def _goes_on_from(
    strand: Strand, strands: list[Strand], chains: list[list[int]], evidence: Evidence, settings: NoteSettings
) -> list[int] | None:
    """The chain that this strand continues: it ended just before, not too far away in pitch; the nearest in pitch."""
    reach = settings.link_gap_s / evidence.hop_s
    fits = []
    for chain in chains:
        last = strands[chain[-1]]
        leap = abs(float(strand.midi[0] - last.midi[-1]))
        if -0.5 * reach <= strand.first - last.last <= reach and leap <= settings.link_semitones:
            fits.append((leap, chain))
    return min(fits, key=lambda fit: fit[0])[1] if fits else None


def _joined(strands: list[Strand], evidence: Evidence, settings: NoteSettings) -> Line:
    """One line through strands that follow one another; in a gap the pitch jumps half-way."""
    first, last = strands[0].first, max(strand.last for strand in strands)
    midi = np.full(last - first + 1, np.nan)
    salience = np.zeros(last - first + 1)
    for strand in strands:
        place = slice(strand.first - first, strand.last - first + 1)
        midi[place], salience[place] = strand.midi, strand.salience
    known = np.flatnonzero(np.isfinite(midi))
    nearest = known[np.round(np.interp(np.arange(midi.size), known, np.arange(known.size))).astype(int)]
    midi = without_blips(midi[nearest], longest=round(settings.blip_s / evidence.hop_s))
    return Line(float(evidence.times_s[first]), evidence.hop_s, midi, salience)


def without_blips(midi: NDArray[np.float64], *, longest: int) -> NDArray[np.float64]:
    """Return the pitch without leaps away and back within ``longest`` samples: the network heard another string."""
    steady = midi.copy()
    leaps = np.flatnonzero(np.abs(np.diff(midi)) > 0.8)
    for out, back in itertools.pairwise(leaps):
        if back - out <= longest and back + 1 < midi.size and abs(midi[out] - midi[back + 1]) < 0.6:
            steady[out + 1 : back + 1] = np.linspace(midi[out], midi[back + 1], back - out + 2)[1:-1]
    return steady


def _cut(
    line: Line, strike: Strike | None, strikes: list[Strike], loudness: Envelope, settings: NoteSettings
) -> list[Stretch]:
    """The line cut at every pick inside it; touches and noises leave it whole."""
    if line.midi.size < 3:
        return []
    inside = [
        each
        for each in strikes
        if line.start_s + settings.strike_after_s < each.time_s < line.end_s - settings.shortest_note_s
        and (strike is None or each.time_s > strike.time_s + settings.strike_apart_s)
    ]
    picks = [each for each in inside if is_new_pick(each, line, settings)]
    strike, picks = without_contacts(strike, picks, loudness, settings)
    begins = [line.start_s if strike is None else strike.time_s, *(pick.time_s for pick in picks)]
    ends = [*(pick.time_s for pick in picks), line.end_s + line.hop_s]
    stretches = []
    for k, (begin, end, began) in enumerate(zip(begins, ends, [strike, *picks], strict=True)):
        if settings.max_voices == 1:  # the level of several strings tells nothing about one of them
            end = sound_end(loudness, begin, end, settings)
        least = settings.repick_least_s if began is None and k < len(picks) else settings.shortest_note_s
        if end - begin >= least:  # a breath of sound before the first pick is no note
            piece = _between(line, begin, end, settings, k > 0, k < len(picks))
            stretches.append(Stretch(piece, begin, end, began, joins=k > 0))
    return stretches


def sound_end(loudness: Envelope, begin_s: float, end_s: float, settings: NoteSettings) -> float:
    """Return when the string is stopped between two times, or the later time when it rings on.

    It was stopped where its slow decay breaks into a fast one and the level never comes back: what is heard after that
    is the room, an echo or another string.
    """
    level = loudness.span(loudness.all_db, begin_s, end_s)
    lag = round(settings.stop_within_s / ENVELOPE_HOP_S)
    if level.size < 3 * lag:
        return end_s
    later = np.maximum.accumulate(level[::-1])[::-1]  # loudest from here to the end
    here = level[lag:-lag]
    fall, before = here - later[2 * lag :], level[: -2 * lag] - here
    stopped = np.flatnonzero((fall > settings.stop_drop_db) & (fall > 2.5 * np.maximum(before, 0.0)))
    if stopped.size == 0:
        return end_s
    first = int(stopped[0])
    fallen = np.flatnonzero(here[first:] < here[first] - 2.0)  # it has begun to fall
    first += int(fallen[0]) if fallen.size else 0
    return min(end_s, begin_s + (first + lag) * ENVELOPE_HOP_S)


def _pitch_at(line: Line, time_s: float) -> float:
    """Pitch just after a time."""
    return float(line.midi[int(np.clip((time_s + 0.05 - line.start_s) / line.hop_s, 0, line.midi.size - 1))])


def _between(
    line: Line, begin_s: float, end_s: float, settings: NoteSettings, cut_before: bool, cut_after: bool
) -> Line:
    """The part of a line between two times, less the edges that still mix with the neighbour; at least two samples."""
    first_s = begin_s + (settings.edge_s if cut_before else 0.0)
    last_s = end_s - (settings.edge_s if cut_after else 0.0)
    first = int(np.clip(np.ceil((first_s - line.start_s) / line.hop_s), 0, line.midi.size - 2))
    last = int(np.clip(np.floor((last_s - line.start_s) / line.hop_s), first + 1, line.midi.size - 1))
    return Line(
        line.start_s + first * line.hop_s, line.hop_s, line.midi[first : last + 1], line.salience[first : last + 1]
    )
