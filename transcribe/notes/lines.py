"""Strands and strikes to lines: the pitch of one string from each strike to the next.

A strand that begins with no pick, soon after another, goes on from it: the finger hammered, pulled or slid. A strike
inside a strand cuts it when it was a pick, and not when a finger only touched the string.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.evidence import Evidence
from transcribe.notes.attack import ENVELOPE_HOP_S, Envelope, Strike
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


def mend_leaps(
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


def share_strikes(
    strands: tuple[Strand, ...], strikes: tuple[Strike, ...], evidence: Evidence, settings: NoteSettings
) -> tuple[tuple[Strand, Strike | None], ...]:
    """Return the strands with the strike that began each, so that no strike begins two that follow one another.

    When two would share one, the first is either the noise of the attack, too short to be a note, and is left out; or
    it is the note, and the second began on its own.
    """
    told: list[tuple[Strand, Strike | None]] = []
    for strand in strands:
        strike = struck_by(strand, strikes, evidence, settings)
        rival = next((k for k, (other, same) in enumerate(told) if strike is not None and same is strike), None)
        if rival is not None and told[rival][0].last <= strand.first + 1:
            if told[rival][0].midi.size * evidence.hop_s <= settings.attack_noise_s:
                told.pop(rival)
            else:
                strike = None
        told.append((strand, strike))
    return tuple(told)


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
        inside = [strike for strike in strikes if strike not in taken or strike in own]
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
    nearest = (
        known[np.abs(np.arange(midi.size)[:, None] - known[None, :]).argmin(axis=1)]
        if known.size < midi.size
        else known
    )
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
        end = min(end, sound_end(loudness, begin, end, settings))
        if end - begin >= settings.shortest_note_s:
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
    return min(end_s, begin_s + (float(stopped[0]) + lag) * ENVELOPE_HOP_S + settings.stop_within_s / 3)


def is_new_pick(strike: Strike, line: Line, settings: NoteSettings) -> bool:
    """True when a strike inside a line starts a note; where the pitch stays it must be surer, for beating swells too."""
    before = _pitch_near(line, strike.time_s - 0.07, strike.time_s - 0.03)
    after = _pitch_near(line, strike.time_s + 0.04, strike.time_s + 0.09)
    if before is not None and after is not None and abs(after - before) >= 0.5:
        return strike.pick_likelihood > settings.pick_sure
    plain = strike.strength >= settings.pick_least_strength
    return plain and strike.pick_likelihood > settings.pick_same_pitch


def without_contacts(
    first: Strike | None, picks: list[Strike], loudness: Envelope, settings: NoteSettings
) -> tuple[Strike | None, list[Strike]]:
    """Return the strike that begins a line and the picks inside it, without touches of the string.

    A pick or finger comes to rest on the string 30 to 110 ms before most re-picks of real leads. Of two strikes nearer
    than any hand can pick, the stronger is the pick; a strike after which the sound drops, until a pick follows or for
    good, is a touch.
    """
    kept: list[Strike] = [] if first is None else [first]
    for pick in picks:
        if kept and pick.time_s - kept[-1].time_s < settings.repick_least_s:
            if pick.pick_likelihood * 1.02 >= kept[-1].pick_likelihood:
                kept[-1] = pick
            continue
        kept.append(pick)
    real = [
        each
        for k, each in enumerate(kept)
        if each is first or not is_contact(each, kept[k + 1] if k + 1 < len(kept) else None, loudness, settings)
    ]
    return (None, real) if first is None else (real[0], real[1:])


def is_contact(strike: Strike, following: Strike | None, loudness: Envelope, settings: NoteSettings) -> bool:
    """True when a strike is a pick or finger coming to rest on the string: the sound drops after it."""
    gap_s = 1.0 if following is None else following.time_s - strike.time_s
    before = np.median(loudness.span(loudness.all_db, strike.time_s - 0.06, strike.time_s - 0.02))
    until = min(0.09, gap_s - 0.012)
    after = np.median(loudness.span(loudness.all_db, strike.time_s + 0.6 * until, strike.time_s + until))
    dropped = float(before - after) > settings.contact_drop_db
    return dropped and (gap_s <= settings.contact_before_s or strike.rise_db < 6.0)


def without_leftovers(
    stretches: tuple[Stretch, ...], loudness: Envelope, settings: NoteSettings
) -> tuple[Stretch, ...]:
    """Return the stretches without those that nobody struck and that are only what an earlier note left behind.

    When a string is stopped, the room, an echo or another string is heard: softer than the note was, and soon after.
    """
    kept: list[Stretch] = []
    for stretch in stretches:
        soft = stretch.strike is None or stretch.strike.pick_likelihood < settings.pick_sure
        if soft and any(_left_behind(stretch, earlier, loudness, settings) for earlier in kept[-3:]):
            continue
        kept.append(stretch)
    return tuple(kept)


def _left_behind(stretch: Stretch, earlier: Stretch, loudness: Envelope, settings: NoteSettings) -> bool:
    if stretch.onset_s < earlier.onset_s or stretch.onset_s - earlier.end_s > settings.leftover_after_s:
        return False
    here = loudness.span(loudness.all_db, stretch.onset_s + 0.02, min(stretch.end_s, stretch.onset_s + 0.15)).max()
    there = np.median(loudness.span(loudness.all_db, earlier.end_s - 0.2, earlier.end_s - 0.03))
    return bool(here < there - settings.leftover_db)


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
