"""Pitch with a sharp eye for time: two periods of the tone at once, for telling a jump from a glide.

The fine pitch of the evidence room looks at several periods and smears a hammer-on over them. Here the recording is
compared with itself one period later, and only periods between two given pitches are tried, so no octave error can
happen. A. de Cheveigné and H. Kawahara, "YIN, a fundamental frequency estimator for speech and music", J. Acoust. Soc.
Am. 111(4), 2002 (the difference function, normalised by energy; the search range is ours).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.units import hz_from_midi

LEAST_WINDOW_S = 0.008  # shorter windows read noise for high notes


def quick_pitch(
    recording: Recording, times_s: NDArray[np.float64], *, low_midi: float, high_midi: float
) -> NDArray[np.float64]:
    """Return the pitch at each time (MIDI), between the two pitches given; NaN where none is clear.

    The window is two periods of the lower pitch, at least 8 ms, centred on the time.
    """
    if times_s.size == 0:
        return np.zeros(0)
    low_hz, high_hz = (float(hz_from_midi(midi)) for midi in (low_midi, high_midi))
    short = max(2, int(np.floor(recording.rate_hz / high_hz)) - 1)
    long = int(np.ceil(recording.rate_hz / low_hz)) + 1
    window = max(long, round(LEAST_WINDOW_S * recording.rate_hz))
    span = window + long
    begins = np.round((times_s - recording.start_s) * recording.rate_hz).astype(int) - span // 2
    first, last = int(begins.min()), int(begins.max()) + span
    inside = recording.samples[max(0, first) : max(0, last)]
    sound = np.pad(inside, (max(0, -first), max(0, last - max(0, first) - inside.size)))
    rows = sound[(begins - first)[:, None] + np.arange(span)].astype(np.float64)
    power = np.cumsum(np.pad(np.square(rows), ((0, 0), (1, 0))), axis=1)
    lags = np.arange(short, long + 1)
    cross = np.stack([np.einsum("ij,ij->i", rows[:, :window], rows[:, lag : lag + window]) for lag in lags], axis=1)
    energy = power[:, [window]] + (power[:, lags + window] - power[:, lags])
    likeness = 2.0 * cross / np.maximum(energy, 1e-12)
    return _best_lag_midi(likeness, lags, recording.rate_hz)


def _best_lag_midi(likeness: NDArray[np.float64], lags: NDArray[np.int64], rate_hz: int) -> NDArray[np.float64]:
    """Pitch of the likeliest lag in each row, between samples by a parabola; NaN where even that is unlike."""
    if lags.size < 3:
        return np.full(len(likeness), np.nan)
    column = np.clip(likeness.argmax(axis=1), 1, lags.size - 2)
    row = np.arange(len(likeness))
    low, mid, high = likeness[row, column - 1], likeness[row, column], likeness[row, column + 1]
    bend = np.minimum(low - 2 * mid + high, -1e-12)
    lag = lags[column] + np.clip(0.5 * (low - high) / bend, -1.0, 1.0)
    midi = 69.0 + 12.0 * np.log2(rate_hz / lag / 440.0)
    return np.where(mid > 0.5, midi, np.nan)
