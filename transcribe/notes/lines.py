"""Strands and strikes to lines: the pitch of one string from each strike to the next.

A strand that begins with no pick, soon after another, goes on from it: the finger hammered, pulled or slid. A strike
inside a strand cuts it when it was a pick, and not when a finger only touched the string.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from transcribe.evidence.evidence import Evidence
from transcribe.notes.attack import Envelope, Strike
from transcribe.notes.moves import Line
from transcribe.notes.track import GHOST_INTERVALS, GHOST_WIDTH, Strand
from transcribe.settings import NoteSettings


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """One line and how it began; ``line`` starts after the strike, where the pitch can be read."""

    line: Line
    onset_s: float
    end_s: float
    strike: Strike | None  # None: it begins without one
    joins: bool = False  # the sound went on from the stretch before without a pause (a re-pick, or a cut)


def struck_by(strand: Strand, strikes: tuple[Strike, ...], evidence: Evidence, settings: NoteSettings) -> Strike | None:
    """Return the strike that began this strand, or None: the likeliest pick near its beginning."""
    begins_s = float(evidence.times_s[strand.first])
    near = [
        strike
        for strike in strikes
        if begins_s - settings.strike_before_s <= strike.time_s <= begins_s + settings.strike_after_s
    ]
    if not near:
        return None
    return max(near, key=lambda strike: strike.pick_likelihood - 3.0 * abs(begins_s - 0.02 - strike.time_s))


def mend_octaves(
    strands: tuple[Strand, ...], strikes: tuple[Strike, ...], evidence: Evidence, settings: NoteSettings
) -> tuple[Strand, ...]:
    """Return the strands with those put right that leap by an octave or a twelfth although nothing was struck.

    No finger leaps so far on one string without a sound: the network has taken an overtone for the note, or the
    other way round. The strand is moved back to where the line was.
    """
    mended: list[Strand] = []
    reach = round(settings.link_gap_s / evidence.hop_s)
    for strand in strands:
        before = next((other for other in reversed(mended) if -reach <= strand.first - other.last <= reach), None)
        strike = struck_by(strand, strikes, evidence, settings)
        if before is not None and (strike is None or strike.pick_likelihood < settings.pick_sure):
            leap = float(strand.midi[0] - before.midi[-1])
            for ghost in GHOST_INTERVALS:
                if abs(abs(leap) - ghost) < 2 * GHOST_WIDTH:
                    strand = replace(strand, midi=strand.midi - np.sign(leap) * ghost)
        mended.append(strand)
    return tuple(mended)


def draw_lines(
    strands: tuple[Strand, ...],
    strikes: tuple[Strike, ...],
    loudness: Envelope,
    evidence: Evidence,
    settings: NoteSettings,
) -> tuple[Stretch, ...]:
    """Return the stretches of all strands in time order, linked over legato and cut at picks."""
    began = [struck_by(strand, strikes, evidence, settings) for strand in strands]
    taken = {strike for strike in began if strike is not None}
    chains: list[list[int]] = []
    for k, strand in enumerate(strands):
        chain = None
        if began[k] is None or began[k].pick_likelihood < settings.pick_sure:  # type: ignore[union-attr]
            chain = _goes_on_from(strand, strands, chains, evidence, settings)
        if chain is None:
            chains.append([k])
        else:
            chain.append(k)
    stretches: list[Stretch] = []
    for chain in chains:
        whole = _joined([strands[k] for k in chain], evidence)
        inside = [strike for strike in strikes if strike not in taken or strike in {began[k] for k in chain[1:]}]
        stretches += _cut(whole, began[chain[0]], inside, loudness, settings)
    return tuple(sorted(stretches, key=lambda stretch: stretch.onset_s))


def _goes_on_from(
    strand: Strand, strands: tuple[Strand, ...], chains: list[list[int]], evidence: Evidence, settings: NoteSettings
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


def _joined(strands: list[Strand], evidence: Evidence) -> Line:
    """One line through strands that follow one another; in a gap the pitch jumps half-way."""
    first, last = strands[0].first, max(strand.last for strand in strands)
    midi = np.full(last - first + 1, np.nan)
    salience = np.zeros(last - first + 1)
    for strand in strands:
        place = slice(strand.first - first, strand.last - first + 1)
        midi[place], salience[place] = strand.midi, strand.salience
    known = np.flatnonzero(np.isfinite(midi))
    nearest = (
        known[np.abs(np.arange(midi.size)[:, None] - known[None, :]).argmin(axis=1)]
        if known.size < midi.size
        else known
    )
    return Line(float(evidence.times_s[first]), evidence.hop_s, midi[nearest], salience)


def _cut(
    line: Line, strike: Strike | None, strikes: list[Strike], loudness: Envelope, settings: NoteSettings
) -> list[Stretch]:
    """The line cut at every pick inside it; touches and noises leave it whole."""
    inside = [
        each
        for each in strikes
        if line.start_s + settings.strike_after_s < each.time_s < line.end_s - settings.shortest_note_s
        and (strike is None or each.time_s > strike.time_s + settings.strike_apart_s)
    ]
    picks = [
        each
        for each, following in zip(inside, (*inside[1:], None), strict=False)
        if is_new_pick(each, line, settings) and not is_contact(each, following, loudness, settings)
    ]
    begins = [line.start_s if strike is None else strike.time_s, *(pick.time_s for pick in picks)]
    ends = [*(pick.time_s for pick in picks), line.end_s + line.hop_s]
    return [
        Stretch(_between(line, begin, end, settings, k > 0, k < len(picks)), begin, end, began, joins=k > 0)
        for k, (begin, end, began) in enumerate(zip(begins, ends, [strike, *picks], strict=True))
        if end - begin >= settings.shortest_note_s
    ]


def is_new_pick(strike: Strike, line: Line, settings: NoteSettings) -> bool:
    """True when a strike inside a line starts a note: a likely pick, less certain where the pitch stays as it was."""
    before = _pitch_near(line, strike.time_s - 0.07, strike.time_s - 0.03)
    after = _pitch_near(line, strike.time_s + 0.04, strike.time_s + 0.09)
    same = before is None or after is None or abs(after - before) < 0.5
    return strike.pick_likelihood > (settings.pick_same_pitch if same else settings.pick_sure)


def is_contact(strike: Strike, following: Strike | None, loudness: Envelope, settings: NoteSettings) -> bool:
    """True when the strike is a pick or finger coming to rest on the string: the sound drops.

    Real leads show such touches 30 to 110 ms before nearly every re-pick.
    """
    if strike.kept_db > -settings.contact_drop_db:
        return False
    if following is not None and following.time_s - strike.time_s <= settings.contact_before_s:
        return True
    return strike.rise_db < 6.0


def _pitch_near(line: Line, from_s: float, to_s: float) -> float | None:
    times = line.times_s
    inside = line.midi[(times >= from_s) & (times <= to_s)]
    return float(np.median(inside)) if inside.size else None


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
