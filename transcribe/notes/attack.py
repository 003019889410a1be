"""Where the string is struck: picks told from pick contact, damping, fret noise and echoes.

Candidates are the peaks of the onset map; each is then measured in the recording. A pick leaves the string sounding
at least as loud as before; a finger or pick that lands on a sounding string leaves it quieter.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.once import once
from transcribe.audio.recording import Recording
from transcribe.evidence.evidence import Evidence
from transcribe.settings import NoteSettings

HIGH_HZ = 2000.0  # a pick is heard above it
BLOCK, TAIL = 61_440, 4096  # samples; the filter's ringing has died away to nothing within the tail
ENVELOPE_HOP_S = 0.005


@dataclass(frozen=True, slots=True)
class Strike:
    """One peak of the onset map, and what the level does around it."""

    time_s: float  # from the start of the file
    strength: float  # height of the onset map, 0 to 1
    rise_db: float  # loudest of the next 50 ms over the quietest of the 60 ms before
    rise_high_db: float  # the same above 2 kHz, where pick noise lies
    kept_db: float  # level 40 to 90 ms later over level 20 to 60 ms before: below zero when the sound was stopped

    @property
    def pick_likelihood(self) -> float:
        """How likely a pick made it, 0 to 1: a logistic fit to picks, legato steps and noises of known licks."""
        rise, high = min(max(self.rise_db, 0.0), 5.0), min(max(self.rise_high_db, 0.0), 8.0)
        return float(1.0 / (1.0 + np.exp(5.4 - 10.1 * self.strength - 0.54 * rise - 0.23 * high)))


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """Level of the recording every 5 ms, whole and above 2 kHz, in dB below full scale."""

    start_s: float
    all_db: NDArray[np.float64]
    high_db: NDArray[np.float64]

    def span(self, values: NDArray[np.float64], from_s: float, to_s: float) -> NDArray[np.float64]:
        """Return the values between two times, at least one."""
        first = int(np.clip(round((from_s - self.start_s) / ENVELOPE_HOP_S), 0, values.size - 1))
        last = int(np.clip(round((to_s - self.start_s) / ENVELOPE_HOP_S), first, values.size - 1))
        return values[first : last + 1]


@once
def envelope(recording: Recording) -> Envelope:
    """Return the level of the recording over 10 ms windows, whole and above 2 kHz."""
    high = np.asarray(recording.samples, dtype=np.float64)
    if recording.rate_hz > 5000:
        high = high_passed(high, HIGH_HZ, recording.rate_hz)
    return Envelope(recording.start_s, _levels(recording.samples, recording.rate_hz), _levels(high, recording.rate_hz))


def high_passed(samples: NDArray[np.float64], corner_hz: float, rate_hz: int) -> NDArray[np.float64]:
    """Return the samples through a second-order Butterworth high-pass, shape as given.

    Its response is laid over the spectrum of one block after another and the blocks' tails are added: the filter of
    scipy.signal to ten digits, without the third of a second that importing it costs every draft. S. Butterworth, "On
    the Theory of Filter Amplifiers", Wireless Engineer 7, 1930; by the bilinear transform.
    """
    warped = np.tan(np.pi * corner_hz / rate_hz)
    scale = 1.0 / (1.0 + np.sqrt(2.0) * warped + warped**2)
    delay = np.exp(-2j * np.pi * np.arange((BLOCK + TAIL) // 2 + 1) / (BLOCK + TAIL))
    passed = scale * (1.0 - delay) ** 2
    fed_back = 2.0 * (warped**2 - 1.0) * scale * delay + (1.0 - np.sqrt(2.0) * warped + warped**2) * scale * delay**2
    response = passed / (1.0 + fed_back)
    out = np.zeros(samples.size + TAIL)
    for first in range(0, samples.size, BLOCK):
        part = samples[first : first + BLOCK]
        whole = np.fft.irfft(np.fft.rfft(part, BLOCK + TAIL) * response, BLOCK + TAIL)
        out[first : first + part.size + TAIL] += whole[: part.size + TAIL]
    return out[: samples.size]


def _levels(samples: NDArray[np.floating], rate_hz: int) -> NDArray[np.float64]:
    power = np.concatenate(([0.0], np.cumsum(np.square(samples, dtype=np.float64))))
    centres = np.arange(0, samples.size, ENVELOPE_HOP_S * rate_hz)
    first = np.clip(centres - ENVELOPE_HOP_S * rate_hz, 0, samples.size - 1).astype(int)
    last = np.clip(centres + ENVELOPE_HOP_S * rate_hz, 1, samples.size).astype(int)
    return np.asarray(10.0 * np.log10(np.maximum((power[last] - power[first]) / (last - first), 1e-9)))


def onset_peaks(onset: NDArray[np.floating], *, floor: float, apart: int) -> NDArray[np.int64]:
    """Return the frames where the onset map peaks above ``floor``, the strongest within ``apart`` frames only."""
    padded = np.pad(onset.astype(np.float64), apart)
    around = np.lib.stride_tricks.sliding_window_view(padded, 2 * apart + 1)
    top = (onset >= around.max(axis=1)) & (onset > floor)
    frames = np.flatnonzero(top)
    return frames[np.concatenate(([True], np.diff(frames) > apart))] if frames.size else frames


def find_strikes(loudness: Envelope, evidence: Evidence, settings: NoteSettings) -> tuple[Strike, ...]:
    """Return every peak of the onset map that may be a pick, measured, in time order."""
    return strikes_in(evidence.onset.max(axis=1), loudness, evidence.start_s, evidence.hop_s, settings)


def strikes_in(
    onset: NDArray[np.floating], loudness: Envelope, start_s: float, hop_s: float, settings: NoteSettings
) -> tuple[Strike, ...]:
    """Return every peak of an onset curve, shape (n_frames,), that may be a pick, measured, in time order."""
    apart = max(1, round(settings.strike_apart_s / hop_s))
    first = round(settings.file_start_s / hop_s)  # sound that is there from the first sample was not struck
    return tuple(
        measure_strike(loudness, start_s + float(frame) * hop_s, float(onset[frame]))
        for frame in onset_peaks(onset, floor=settings.strike_floor, apart=apart)
        if frame >= first
    )


def measure_strike(loudness: Envelope, time_s: float, strength: float) -> Strike:
    """Return the strike at ``time_s`` with what the level does around it."""

    def rise(values: NDArray[np.float64]) -> float:
        after = loudness.span(values, time_s - 0.005, time_s + 0.05).max()
        return float(after - loudness.span(values, time_s - 0.06, time_s - 0.01).min())

    before = np.median(loudness.span(loudness.all_db, time_s - 0.06, time_s - 0.02))
    later = np.median(loudness.span(loudness.all_db, time_s + 0.04, time_s + 0.09))
    return Strike(time_s, strength, rise(loudness.all_db), rise(loudness.high_db), float(later - before))
