"""Whether a take sounds like one guitar at all: talk, a piano, a band and plain noise are heard as notes too.

What is weighed is what a guitar cannot do or hardly does: sound below its lowest string, hiss that belongs to no note,
notes that swell and are held up, more notes at once than strings, pitch that never comes to rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.notes.attack import ENVELOPE_HOP_S, Envelope, envelope
from transcribe.notes.note import Note
from transcribe.notes.piano_law import piano_likeness
from transcribe.notes.swelling import growth_db_per_s, rise_s

Floats = NDArray[np.float64]

WINDOW_S, HOP_S = 0.093, 0.05
LONGEST_S = 120.0  # of sound that is looked at
PARTIALS = 20
BAND_SEMITONES = 0.6
LOUD_DB = 30.0  # below the loudest moments, beyond which nothing is sounding
DEEP_HZ, LOWEST_HZ, HIGH_HZ = 70.0, 30.0, 5000.0  # the lowest string of a guitar in drop D sounds at 73 Hz
TOGETHER_S = 0.04
BURST_DB, BURST_WITHIN_DB, BURST_REACH_S = 10.0, 25.0, 0.06  # a rise, how far below the loudest, and from a note
FEWEST_BURSTS = 4
FEWEST_TELLING = 3  # notes; one that slides or is shaken all along is no talk, and tells no tuning
WIDE_SEMITONES = (
    31  # two notes struck at once lie no farther apart: open low string to the thirteenth fret of the first
)


@dataclass(frozen=True, slots=True)
class TakeGrounds:
    """What speaks for and against one guitar, over a whole take."""

    sure: float  # mean confidence of the notes, 0 to 1
    covered: float  # share of the sounding time in which a note was heard
    explained: float  # share of the sound that lies at partials of the notes heard
    deep: float  # share of the sound below a guitar's lowest string
    high_db: float  # level above 5 kHz against the whole
    restless_cents: float  # middle change of pitch in a hundredth of a second
    off_cents: float  # middle distance from the semitone
    crowded: float  # share of the moments at which more notes sound, or wider apart, than six strings allow
    lone_bursts: float  # share of the bursts above 2 kHz at which no note begins: drums, consonants
    piano: float  # how near the stretch of the partials lies to a piano's, 0 to 1
    rise_s: float  # middle time that notes take from rest to their top
    growth_db_per_s: float  # middle change of level of notes that are held


@dataclass(frozen=True, slots=True)
class Sign:
    """How much a ground speaks against one guitar: nothing at ``free``, ``weight`` at ``full``, on beyond to 1.5."""

    free: float
    full: float
    weight: float

    def of(self, value: float) -> float:
        """Return how much ``value`` speaks against one guitar."""
        return self.weight * float(np.clip((value - self.free) / (self.full - self.free), 0.0, 1.5))


# Chosen by hand: ``free`` about where the extreme guitars lie (made takes on all guitars, our fixtures, recorded
# phrases), so that none of these adds up to 1; talk, bands, organs and noise made for choosing mostly do.
SIGNS = {
    "restless_cents": Sign(4.5, 8.0, 0.8),
    "off_cents": Sign(9.0, 20.0, 0.6),
    "crowded": Sign(0.0, 0.06, 1.0),
    "deep": Sign(0.035, 0.08, 1.0),
    "explained": Sign(0.78, 0.5, 0.5),
    "covered": Sign(0.75, 0.3, 0.3),
    "sure": Sign(0.85, 0.4, 0.4),
    "high_db": Sign(-12.5, -8.0, 0.8),
    "lone_bursts": Sign(0.2, 0.5, 0.6),
    "piano": Sign(0.3, 0.7, 1.2),
    "rise_s": Sign(0.06, 0.11, 1.0),
    "growth_db_per_s": Sign(4.0, 12.0, 1.0),
}


def strangeness(grounds: TakeGrounds) -> float:
    """Return how much speaks against one guitar: 0 nothing, 1 and above enough to doubt the take."""
    return sum(sign.of(getattr(grounds, name)) for name, sign in SIGNS.items())


def strangest(grounds: TakeGrounds) -> str:
    """Return the name of the ground that speaks most against one guitar."""
    return max(SIGNS, key=lambda name: SIGNS[name].of(getattr(grounds, name)))


def take_grounds(recording: Recording, notes: Sequence[Note], *, tuning_cents: float = 0.0) -> TakeGrounds:
    """Return what speaks for and against one guitar; ``tuning_cents`` is how sharp the notes' pitches sound."""
    pitched = [note for note in notes if note.mute != "dead"]
    sure = np.array([note.confidence if note.confidence is not None else 1.0 for note in pitched])
    loudness = envelope(recording)
    explained, covered, deep, high_db = _shares(recording, pitched, tuning_cents)
    steps = [step for note in pitched if (step := _restless(note)) is not None]
    off = [abs(note.cents) for note in pitched if note.cents is not None]
    return TakeGrounds(
        sure=float(sure.mean()) if sure.size else 0.0,
        covered=covered,
        explained=explained,
        deep=deep,
        high_db=high_db,
        restless_cents=float(np.median(steps)) if len(steps) >= FEWEST_TELLING else 0.0,
        off_cents=float(np.median(off)) if len(off) >= FEWEST_TELLING else 0.0,
        crowded=_crowded(pitched),
        lone_bursts=_lone_bursts(loudness, np.array([note.onset_s for note in notes])),
        piano=piano_likeness(recording, pitched, tuning_cents=tuning_cents),
        rise_s=rise_s(loudness, pitched),
        growth_db_per_s=growth_db_per_s(loudness, pitched),
    )


def _shares(recording: Recording, notes: Sequence[Note], tuning_cents: float) -> tuple[float, float, float, float]:
    """Of the sound where it sounds: the explained share, the covered time, what lies deep, and high in dB."""
    rate = recording.rate_hz
    size, hop = int(WINDOW_S * rate), int(HOP_S * rate)
    samples = recording.samples[: int(LONGEST_S * rate)]
    starts = np.arange(0, max(1, samples.size - size), hop)
    if samples.size < size:
        return 0.0, 0.0, 0.0, -120.0
    window = np.hanning(size).astype(np.float32)
    n_fft = 1 << int(np.ceil(np.log2(size)))
    hz = np.arange(n_fft // 2 + 1) * rate / n_fft
    powers = np.array([float(np.mean(np.square(samples[s : s + size], dtype=np.float64))) for s in starts])
    loud = powers > np.percentile(powers, 95) * 10 ** (-LOUD_DB / 10)
    lowest_bin, deep_end_bin, high_bin = np.searchsorted(hz, (LOWEST_HZ, DEEP_HZ, HIGH_HZ))
    totals = np.zeros(4)  # everything, explained, deep, high
    covered = 0
    for start in starts[loud]:
        seen = np.fft.rfft(samples[start : start + size] * window, n_fft)
        power = np.square(seen.real, dtype=np.float64) + np.square(seen.imag, dtype=np.float64)
        middle_s = recording.start_s + (start + size / 2) / rate
        here = [note for note in notes if note.onset_s - WINDOW_S / 2 <= middle_s <= note.offset_s + WINDOW_S / 2]
        covered += bool(here)
        mask = np.zeros(hz.size, dtype=bool)
        for note in here:
            pitch_hz = _pitch_hz(note, middle_s, tuning_cents)
            reached = int(np.searchsorted(hz, (PARTIALS + 1) * pitch_hz))  # no partial that counts lies above
            mask[:reached] |= _at_partials(hz[:reached], pitch_hz, hz[1])
        totals += [
            power[lowest_bin:].sum(),
            power[lowest_bin:][mask[lowest_bin:]].sum(),
            power[lowest_bin:deep_end_bin].sum(),
            power[high_bin:].sum(),
        ]
    whole = max(float(totals[0]), 1e-12)
    high_db = 10 * float(np.log10(max(totals[3] / whole, 1e-12)))
    return float(totals[1] / whole), covered / max(1, int(loud.sum())), float(totals[2] / whole), high_db


def _pitch_hz(note: Note, at_s: float, tuning_cents: float) -> float:
    cents = note.cents or 0.0
    if note.contour is not None and note.contour.cents:
        k = int(np.clip(round((at_s - note.contour.start_s) / note.contour.hop_s), 0, len(note.contour.cents) - 1))
        heard = note.contour.cents[k]
        cents = cents if heard is None else heard
    return float(440.0 * 2 ** ((note.midi - 69 + (cents + tuning_cents) / 100) / 12))


def _at_partials(hz: Floats, pitch_hz: float, bin_hz: float) -> NDArray[np.bool_]:
    """True where a partial of the pitch may lie: within 0.6 semitones and a bin, widening upward with the stretch."""
    number = np.clip(np.round(hz / pitch_hz), 1, PARTIALS)
    reach = np.maximum(number * pitch_hz * (2 ** (BAND_SEMITONES / 12) - 1), 1.5 * bin_hz)
    return np.asarray(np.abs(hz - number * pitch_hz) <= np.minimum(reach, 0.25 * pitch_hz + 1.5 * bin_hz))


def _restless(note: Note) -> float | None:
    if note.contour is None:
        return None
    cents = np.array([cent for cent in note.contour.cents if cent is not None])
    return float(np.median(np.abs(np.diff(cents)))) * 0.01 / note.contour.hop_s if cents.size > 3 else None


def _lone_bursts(loudness: Envelope, onset_s: Floats) -> float:
    """Share of the sudden rises above 2 kHz that no note explains; 0 with hardly any."""
    level, back = loudness.high_db, round(0.06 / ENVELOPE_HOP_S)
    if level.size < 3 * back:
        return 0.0
    before = np.lib.stride_tricks.sliding_window_view(level, back).min(axis=1)[:-2]
    rise = np.where(level[back + 1 :] > level.max() - BURST_WITHIN_DB, level[back + 1 :] - before, 0.0)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(rise, back), 2 * back + 1).max(axis=1)
    at_s = loudness.start_s + ENVELOPE_HOP_S * (back + 1 + np.flatnonzero((rise >= around) & (rise > BURST_DB)))
    if at_s.size < FEWEST_BURSTS:
        return 0.0
    if onset_s.size == 0:
        return 1.0
    return float((np.abs(at_s[:, None] - onset_s).min(axis=1) > BURST_REACH_S).mean())


def _crowded(notes: Sequence[Note]) -> float:
    """Share of the notes' beginnings at which more than six notes sound, or two struck at once lie too far apart."""
    if not notes:
        return 0.0
    onset = np.array([note.onset_s for note in notes])
    offset = np.array([note.offset_s for note in notes])
    midi = np.array([note.midi for note in notes])
    crowded = 0
    for at_s in onset:
        struck = midi[np.abs(onset - at_s) < TOGETHER_S]
        sounding = int(((onset < at_s + TOGETHER_S) & (offset > at_s + TOGETHER_S)).sum())
        crowded += sounding > 6 or int(np.ptp(struck)) > WIDE_SEMITONES
    return crowded / len(notes)
