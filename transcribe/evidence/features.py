"""Level and onset novelty of a recording, frame by frame.

The onset map follows S. Böck and G. Widmer, "Maximum Filter Vibrato Suppression for Onset Detection", DAFx 2013: each
band of a log-frequency spectrogram is compared with the loudest of its neighbours a moment before, so that a partial
that merely moves (bend, vibrato, slide) adds nothing, while a pick stroke does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.settings import EvidenceSettings

CHUNK_S = 20.0  # sound looked at in one go, so that long takes need no more memory than short ones


def frame_count(recording: Recording, hop_s: float) -> int:
    """Return how many frames the take has: one every ``hop_s`` from its first sample to its last."""
    return int(recording.duration_s / hop_s) + 1


def level_db(recording: Recording, *, hop_s: float, window_s: float = 0.02) -> NDArray[np.float32]:
    """Return the root mean square around each frame in dB below full scale, shape (n_frames,); -120 for silence."""
    power = np.concatenate(([0.0], np.cumsum(np.square(recording.samples, dtype=np.float64))))
    centres = np.arange(frame_count(recording, hop_s)) * hop_s * recording.rate_hz
    half = window_s * recording.rate_hz / 2
    first = np.clip(np.round(centres - half), 0, recording.samples.size).astype(int)
    last = np.clip(np.round(centres + half), 0, recording.samples.size).astype(int)
    mean = (power[last] - power[first]) / np.maximum(last - first, 1)
    return (10.0 * np.log10(np.maximum(mean, 1e-12))).astype(np.float32)


def band_matrix(n_fft: int, rate_hz: int, settings: EvidenceSettings) -> NDArray[np.float32]:
    """Return triangular bands evenly spaced in log-frequency, shape (n_fft // 2 + 1, n_bands), each summing to 1.

    Bands narrower than two bins of the transform are left out.
    """
    lowest, highest = settings.band_lowest_hz, min(settings.band_highest_hz, rate_hz / 2)
    steps = int(np.log2(highest / lowest) * settings.bands_per_octave)
    bins = np.unique(np.round(lowest * 2.0 ** (np.arange(steps + 1) / settings.bands_per_octave) * n_fft / rate_hz))
    left, middle, right = bins[:-2], bins[1:-1], bins[2:]
    bin_number = np.arange(n_fft // 2 + 1)[:, None]
    rising, falling = (bin_number - left) / (middle - left), (right - bin_number) / (right - middle)
    bands = np.clip(np.minimum(rising, falling), 0.0, None)
    return np.asarray(bands / bands.sum(axis=0), dtype=np.float32)


def onset_map(recording: Recording, settings: EvidenceSettings, *, hop_s: float) -> NDArray[np.float32]:
    """Return how much each frame sounds like a new note, 0 to 1, shape (n_frames, 1)."""
    import scipy.fft
    import scipy.ndimage
    import soxr

    rate, n_fft = settings.onset_rate_hz, settings.onset_window
    samples = np.asarray(soxr.resample(recording.samples, recording.rate_hz, rate), dtype=np.float32)
    step = round(rate * settings.onset_hop_s)
    count = round(frame_count(recording, hop_s) * hop_s / settings.onset_hop_s)
    padded = np.zeros((count + 1) * step + n_fft, dtype=np.float32)
    padded[n_fft // 2 : n_fft // 2 + samples.size] = samples[: padded.size - n_fft // 2]
    frames = np.lib.stride_tricks.sliding_window_view(padded, n_fft)[::step][:count]
    window = np.hanning(n_fft + 1)[:-1].astype(np.float32)
    window *= 2.0 / window.sum()  # a sine of amplitude 1 reads 1
    bands = band_matrix(n_fft, rate, settings)
    quiet = 10.0 ** (settings.onset_floor_db / 20.0)
    lag = settings.onset_lag_frames
    novelty = np.zeros(count, dtype=np.float32)
    carry = np.zeros((lag, bands.shape[1]), dtype=np.float32)
    per_chunk = round(CHUNK_S / settings.onset_hop_s)
    for begin in range(0, count, per_chunk):
        spectrum = np.abs(scipy.fft.rfft(frames[begin : begin + per_chunk] * window, axis=1))
        loud = np.concatenate((carry, 20.0 * np.log10(1.0 + (spectrum @ bands) / quiet)))
        before = scipy.ndimage.maximum_filter1d(loud, settings.onset_neighbours, axis=1)
        novelty[begin : begin + per_chunk] = np.maximum(loud[lag:] - before[:-lag], 0.0).mean(axis=1)
        carry = loud[-lag:]
    strength = 1.0 - np.exp(-novelty / settings.onset_scale_db)
    pooled = np.zeros((frame_count(recording, hop_s), round(hop_s / settings.onset_hop_s)), dtype=np.float32)
    pooled.flat[: min(count, pooled.size)] = strength[: pooled.size]
    return pooled.max(axis=1, keepdims=True)
