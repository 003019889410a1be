"""Level and onset novelty of a recording, frame by frame.

The onset map follows S. Böck and G. Widmer, "Maximum Filter Vibrato Suppression for Onset Detection", DAFx 2013: each
band of a log-frequency spectrogram is compared with the loudest of its neighbours a moment before, so that a partial
that merely moves (bend, vibrato, slide) adds nothing, while a pick stroke does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.once import once
from transcribe.audio.recording import Recording
from transcribe.settings import EvidenceSettings

CHUNK_S = 2.0  # sound looked at in one go: no more memory for long takes, and what fits a cache is faster


def frame_count(recording: Recording, hop_s: float) -> int:
    """Return how many frames the take has: one every ``hop_s`` from its first sample to its last."""
    return int(recording.duration_s / hop_s) + 1


def level_db(recording: Recording, *, hop_s: float, window_s: float = 0.02) -> NDArray[np.float32]:
    """Return the root mean square around each frame in dB below full scale, shape (n_frames,); -120 for silence."""
    power = np.zeros(recording.samples.size + 1)  # one array: two minutes of sound make 40 MB of each
    np.square(recording.samples, dtype=np.float64, out=power[1:])
    np.cumsum(power, out=power)
    centres = np.arange(frame_count(recording, hop_s)) * hop_s * recording.rate_hz
    half = window_s * recording.rate_hz / 2
    first = np.clip(np.round(centres - half), 0, recording.samples.size).astype(int)
    last = np.clip(np.round(centres + half), 0, recording.samples.size).astype(int)
    mean = (power[last] - power[first]) / np.maximum(last - first, 1)
    return (10.0 * np.log10(np.maximum(mean, 1e-12))).astype(np.float32)


def band_matrix(
    n_fft: int, rate_hz: int, *, lowest_hz: float, highest_hz: float, per_octave: int
) -> NDArray[np.float32]:
    """Return triangular bands evenly spaced in log-frequency, shape (n_fft // 2 + 1, n_bands), each summing to 1.

    Where bands would be closer together than the bins of the transform, each bin is one band.
    """
    steps = int(np.log2(highest_hz / lowest_hz) * per_octave)
    edges = np.unique(np.round(lowest_hz * 2.0 ** (np.arange(steps + 1) / per_octave) * n_fft / rate_hz))
    left, middle, right = edges[:-2], edges[1:-1], edges[2:]
    bin_number = np.arange(n_fft // 2 + 1)[:, None]
    rising, falling = (bin_number - left) / (middle - left), (right - bin_number) / (right - middle)
    bands = np.clip(np.minimum(rising, falling), 0.0, None)
    return np.asarray(bands / bands.sum(axis=0), dtype=np.float32)


@once
def onset_map(recording: Recording, settings: EvidenceSettings, *, hop_s: float) -> NDArray[np.float32]:
    """Return how much each frame sounds like a new note, 0 to 1, shape (n_frames, 1).

    Each frame holds the stronger of the novelty at its time and half a hop later: novelty peaks a few milliseconds
    late, and on known licks this makes up for it.
    """
    novelty = novelty_db(recording, settings)
    strength = 1.0 - np.exp(-novelty / settings.onset_scale_db)
    pooled = np.zeros((frame_count(recording, hop_s), round(hop_s / settings.onset_hop_s)), dtype=np.float32)
    pooled.flat[: min(strength.size, pooled.size)] = strength[: pooled.size]
    return pooled.max(axis=1, keepdims=True)


def novelty_db(recording: Recording, settings: EvidenceSettings) -> NDArray[np.float32]:
    """Return by how many decibels the bands rise on average, every ``settings.onset_hop_s``, shape (n_times,).

    A long window parts the low partials, a short one keeps the moment sharp above ``settings.onset_split_hz``.
    """
    import soxr

    rate, longest = settings.onset_rate_hz, settings.onset_long_window
    sound = np.asarray(soxr.resample(recording.samples, recording.rate_hz, rate), dtype=np.float32)
    step, count = round(rate * settings.onset_hop_s), int(recording.duration_s / settings.onset_hop_s) + 1
    padded = np.zeros((count - 1) * step + longest, dtype=np.float32)
    padded[longest // 2 :][: sound.size] = sound[: padded.size - longest // 2]
    frames = np.lib.stride_tricks.sliding_window_view(padded, longest)[::step][:count]
    looks = _looks(settings)
    quiet = 10.0 ** (settings.onset_floor_db / 20.0)
    lag, per_chunk = settings.onset_lag_frames, round(CHUNK_S / settings.onset_hop_s)
    novelty = np.zeros(count, dtype=np.float32)
    before: list[NDArray[np.float32]] = [np.zeros((lag, bands.shape[1]), np.float32) for _, bands in looks]
    for begin in range(0, count, per_chunk):
        chunk = frames[begin : begin + per_chunk]
        rises = []
        for number, (window, bands) in enumerate(looks):
            amplitude = np.abs(np.fft.rfft(chunk * window, axis=1)) @ bands
            loud = np.concatenate((before[number], 20.0 * np.log10(1.0 + amplitude / quiet)))
            rises.append(rise_over_neighbours(loud, lag=lag, neighbours=settings.onset_neighbours))
            before[number] = loud[-lag:]
        novelty[begin : begin + per_chunk] = np.concatenate(rises, axis=1).mean(axis=1)
    # A take cut off while a note rings ends in a click, which is no note: windows that reach past the end say nothing.
    novelty[max(0, (sound.size - longest // 2) // step) :] = 0.0
    return novelty


def _looks(settings: EvidenceSettings) -> list[tuple[NDArray[np.float32], NDArray[np.float32]]]:
    """Return a window, shape (n_fft,), and the bands it serves, for the low and for the high frequencies."""
    n_fft, split = settings.onset_long_window, settings.onset_split_hz
    ranges = (
        (settings.onset_long_window, settings.band_lowest_hz, split),
        (settings.onset_short_window, split, settings.band_highest_hz),
    )
    looks = []
    for length, lowest, highest in ranges:
        window = np.zeros(n_fft, dtype=np.float32)
        begin = (n_fft - length) // 2
        window[begin : begin + length] = np.hanning(length + 1)[:-1]
        window *= 2.0 / window.sum()  # a sine of amplitude 1 reads 1
        bands = band_matrix(
            n_fft,
            settings.onset_rate_hz,
            lowest_hz=lowest,
            highest_hz=highest,
            per_octave=settings.bands_per_octave,
        )
        looks.append((window, bands))
    return looks


def rise_over_neighbours(loud: NDArray[np.float32], *, lag: int, neighbours: int) -> NDArray[np.float32]:
    """Return how far each band rose above the loudest of its neighbours ``lag`` frames before, zero where it did not.

    ``loud`` has shape (lag + n_frames, n_bands); the result has shape (n_frames, n_bands).
    """
    reach = neighbours // 2
    before = loud[:-lag].copy()
    for away in range(1, reach + 1):
        np.maximum(before[:, away:], loud[:-lag, :-away], out=before[:, away:])
        np.maximum(before[:, :-away], loud[:-lag, away:], out=before[:, :-away])
    return np.asarray(np.maximum(loud[lag:] - before, 0.0), dtype=np.float32)
