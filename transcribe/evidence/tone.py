"""How a stretch of sound is coloured and how fast it dies: clues to muted, dead and ringing notes.

Each measure is taken over spans of time, so that the caller decides which part of which note is meant.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording

Floats = NDArray[np.float64]
SHORTEST_S = 0.02
LEVEL_HOP_S = 0.005
FAINT_DB = 40.0


@dataclass(frozen=True, slots=True)
class Tone:
    """What one span of sound is like."""

    level_db: float  # root mean square, dB below full scale
    centroid_hz: float  # middle of the power spectrum: bright sounds lie high
    high_share: float  # share of the power above 1500 Hz, 0 to 1
    flatness: float  # 0 for a pure tone up to about 0.56 for white noise read from one span
    decay_db_per_s: float  # how fast the level falls after its loudest moment; a few tens for a ringing string


def tone_of(recording: Recording, from_s: float, to_s: float) -> Tone:
    """Return the tone between two times on the recording's clock; a span under 20 ms is widened to that.

    Flatness is the geometric over the arithmetic mean of the power spectrum from 60 Hz to 6 kHz (J. D. Johnston,
    "Transform Coding of Audio Signals Using Perceptual Noise Criteria", IEEE J. Sel. Areas in Communications 6, 1988).
    """
    from scipy.fft import rfft, rfftfreq

    samples = _span(recording, from_s, to_s)
    window = np.hanning(samples.size + 2)[1:-1]
    power = np.abs(rfft(samples * window)) ** 2 + 1e-20
    hz = rfftfreq(samples.size, 1.0 / recording.rate_hz)
    heard = (hz >= 60.0) & (hz <= min(10000.0, 0.45 * recording.rate_hz))
    low = heard & (hz <= 6000.0)
    total = float(power[heard].sum())
    return Tone(
        level_db=float(10.0 * np.log10(np.mean(samples**2) + 1e-12)),
        centroid_hz=float((hz[heard] * power[heard]).sum() / total),
        high_share=float(power[heard & (hz > 1500.0)].sum() / total),
        flatness=float(np.exp(np.log(power[low]).mean()) / power[low].mean()),
        decay_db_per_s=decay_db_per_s(recording, from_s, to_s),
    )


def decay_db_per_s(recording: Recording, from_s: float, to_s: float) -> float:
    """Return how fast the level falls between two times, in dB a second: a straight line through the levels in dB.

    It is measured from the loudest moment until 40 dB below that, where room and hiss take over.

    The line is the median of the slopes between all pairs of levels (P. K. Sen, "Estimates of the Regression
    Coefficient Based on Kendall's Tau", J. American Statistical Association 63, 1968), so a click does not bend it.
    """
    samples = _span(recording, from_s, to_s)
    block = max(1, round(LEVEL_HOP_S * recording.rate_hz))
    whole = samples[: samples.size // block * block].reshape(-1, block)
    # Four blocks hold more than a period of a low E, so that its wave does not look like a changing level.
    power = np.convolve((whole**2).mean(axis=1), [0.25, 0.25, 0.25, 0.25], mode="valid")
    level = 10.0 * np.log10(np.maximum(power, 1e-12))
    level = level[level.argmax() :]
    faint = np.flatnonzero(level < level[0] - FAINT_DB)
    level = level[: faint[0] + 1] if faint.size else level
    if level.size < 2:
        return 0.0
    seconds = (level.size - 1) * block / recording.rate_hz
    if level.size > 100:  # enough for a steady line, and few enough pairs
        level = level[np.linspace(0, level.size - 1, 100).round().astype(int)]
    times = np.linspace(0.0, seconds, level.size)
    first, second = np.triu_indices(level.size, 1)
    return float(-np.median((level[second] - level[first]) / (times[second] - times[first])))


def _span(recording: Recording, from_s: float, to_s: float) -> Floats:
    """Return the samples between two times, at least 20 ms of them; a take shorter than that is filled with silence."""
    rate = recording.rate_hz
    shortest = int(np.ceil(SHORTEST_S * rate))
    wanted = max(round((to_s - from_s) * rate), shortest)
    first = int(np.clip(round((from_s - recording.start_s) * rate), 0, max(0, recording.samples.size - wanted)))
    samples = recording.samples[first : first + wanted].astype(np.float64)
    return np.pad(samples, (0, max(0, shortest - samples.size)))
