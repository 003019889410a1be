"""Which strike began which strand, and strands put right or added by what was struck."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from transcribe.evidence.evidence import Evidence
from transcribe.notes.attack import Strike
from transcribe.notes.track import GHOST_INTERVALS, GHOST_WIDTH, Strand
from transcribe.settings import NoteSettings

OWN_SHARE = 0.5  # of the strike's strength that an onset map over pitches must show at a strand's own pitch


def struck_at_pitch(strike: Strike, midi: float, evidence: Evidence, *, reach_s: float) -> bool:
    """True when the strike can be this pitch's own; an onset map that has no pitches cannot tell, and allows it."""
    if evidence.onset.shape[1] == 1:
        return True
    middle, reach = round((strike.time_s - evidence.start_s) / evidence.hop_s), round(reach_s / evidence.hop_s)
    rows = slice(max(0, middle - reach), middle + reach + 1)
    near = np.abs(evidence.bin_midi - midi) < 0.8
    shown = evidence.onset[rows][:, near]
    return bool(shown.size and shown.max() >= OWN_SHARE * strike.strength)


def struck_by(strand: Strand, strikes: tuple[Strike, ...], evidence: Evidence, settings: NoteSettings) -> Strike | None:
    """Return the strike that began this strand, or None: the likeliest pick near its beginning."""
    begins_s = float(evidence.times_s[strand.first])
    near = [
        strike
        for strike in strikes
        if begins_s - settings.strike_before_s <= strike.time_s <= begins_s + settings.strike_after_s
        and struck_at_pitch(strike, float(np.median(strand.midi[:8])), evidence, reach_s=settings.onset_reach_s)
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


def faint_strands(
    struck: tuple[tuple[Strand, Strike | None], ...],
    strikes: tuple[Strike, ...],
    evidence: Evidence,
    settings: NoteSettings,
) -> tuple[tuple[Strand, Strike | None], ...]:
    """Return the strands, and one for each plain pick after which the map shows only a faint pitch.

    Palm-muted low strings are over before the network is sure. The pitch is where the map is highest on average in the
    tenth of a second after the pick.
    """
    added = []
    taken = {strike for _, strike in struck}
    for strike in strikes:
        first = round((strike.time_s + 0.02 - evidence.start_s) / evidence.hop_s)
        rows = evidence.salience[first : first + round(0.1 / evidence.hop_s)]
        sounding = any(strand.first - 3 <= first + 2 <= strand.last for strand, _ in struck)
        plain = strike.pick_likelihood > settings.faint_pick and strike.rise_db > settings.knock_rise_db
        if strike in taken or sounding or not plain or rows.shape[0] < 3:
            continue
        shown = rows.mean(axis=0)
        if shown.max() >= settings.faint_salience:
            midi = np.full(rows.shape[0], evidence.bin_midi[shown.argmax()])
            added.append((Strand(first, midi, np.full(midi.size, float(shown.max()))), strike))
    return tuple(sorted((*struck, *added), key=lambda pair: pair[0].first))
