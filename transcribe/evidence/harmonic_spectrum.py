"""The several-voices network's view of a sound: at each pitch, what stands at its harmonics, long and short windows.

Two log-frequency spectra in decibels under the take's own loudest, each shifted by the intervals of the harmonic series
so that one pitch's partials lie in one place (R. Bittner and others, "Deep Salience Representations for F0 Estimation
in Polyphonic Music", ISMIR 2017). The training room computes the same on its own backend; a test compares the two.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

RATE_HZ = 22050
HOP = 256  # samples, 11.6 ms
LOWEST_MIDI, PITCHES = 36, 56  # C2 to G6: low C of dropped tunings to fret 24 and a bend
SUB_BINS = 3  # a semitone
FIRST_BIN_MIDI = 24 - 1 / SUB_BINS  # of the spectra
SPECTRUM_BINS = 304
LONG_WINDOW, LONG_FFT = 4096, 8192  # 186 ms: parts the low partials
SHORT_WINDOW, SHORT_FFT = 1024, 2048  # 46 ms: keeps the moment
LONG_HARMONICS, SHORT_HARMONICS = (0.5, 1, 2, 3, 4, 5, 6), (1, 2, 3, 4, 6)
CHANNELS = SUB_BINS * (len(LONG_HARMONICS) + len(SHORT_HARMONICS))
RANGE_DB, CEILING = 80.0, 1.3
LOUD_SHARE = 0.95  # the reference is this quantile of the frames' loudest bins
QUIETEST_REFERENCE_DB = -70.0  # against a full-scale sine: below it a take is silence, and is not blown up
BLOCK_FRAMES, BLOCKS_AHEAD = 32, 64  # few at once: what is worked on stays near the core
GROUP_BANDS = 19


@cache
def bands(n_fft: int) -> Floats:
    """Return triangular bands, three a semitone, each summing to 1; shape (n_fft // 2 + 1, SPECTRUM_BINS)."""
    step_hz = RATE_HZ / n_fft
    centre_hz = 440.0 * 2.0 ** ((FIRST_BIN_MIDI + np.arange(SPECTRUM_BINS) / SUB_BINS - 69) / 12)
    half_hz = np.maximum(centre_hz * (2.0 ** (1 / 36) - 1), step_hz)
    hz = np.arange(n_fft // 2 + 1)[:, None] * step_hz
    weight = np.clip(1 - np.abs(hz - centre_hz) / half_hz, 0, None)
    return np.asarray(weight / np.maximum(weight.sum(axis=0), 1e-9), dtype=np.float32)


@cache
def _groups(n_fft: int) -> tuple[tuple[slice, Floats], ...]:
    """The bands a few at a time, each group with the bins it weighs: nine tenths of the whole table is zero."""
    found = []
    for first in range(0, SPECTRUM_BINS, GROUP_BANDS):
        part = bands(n_fft)[:, first : first + GROUP_BANDS]
        used = np.flatnonzero(part.any(axis=1))
        bins = slice(int(used[0]), int(used[-1]) + 1) if used.size else slice(0, 1)
        found.append((bins, np.ascontiguousarray(part[bins])))
    return tuple(found)


@cache
def window(length: int) -> Floats:
    """Return a periodic Hann window that reads a full-scale sine as about 1."""
    shape = np.hanning(length + 1)[:-1]
    return np.asarray(shape * 2 / shape.sum(), dtype=np.float32)


def shifts(harmonics: tuple[float, ...]) -> tuple[int, ...]:
    """Return the first spectrum bin of each harmonic's copy, so that bin 0 of the copy is LOWEST_MIDI - 1/3."""
    first = (LOWEST_MIDI - 1 / SUB_BINS - FIRST_BIN_MIDI) * SUB_BINS
    return tuple(round(first + 12 * SUB_BINS * np.log2(h)) for h in harmonics)


def frame_count(samples: int) -> int:
    """Return how many frames a sound at RATE_HZ has: one every HOP, the first centred on its first sample."""
    return samples // HOP + 1


def spectra(sound: Floats, *, threads: int = 1) -> Iterator[tuple[Floats, Floats]]:
    """Yield the long and the short log-frequency spectrum in decibels, BLOCK_FRAMES frames at a time."""
    count, reach = frame_count(sound.size), LONG_WINDOW // 2
    padded = np.concatenate([np.zeros(reach, np.float32), sound, np.zeros(LONG_WINDOW + HOP, np.float32)])

    def block(first: int) -> tuple[Floats, Floats]:
        frames = min(BLOCK_FRAMES, count - first)
        whole = padded[first * HOP : (first + frames - 1) * HOP + LONG_WINDOW]
        view = np.lib.stride_tricks.sliding_window_view(whole, LONG_WINDOW)[::HOP]
        inner = view[:, (LONG_WINDOW - SHORT_WINDOW) // 2 :][:, :SHORT_WINDOW]
        return _banded_db(view, LONG_FFT), _banded_db(inner, SHORT_FFT)

    with ThreadPoolExecutor(threads) as pool:
        ahead = BLOCK_FRAMES * BLOCKS_AHEAD  # no more at once, so that memory stays bounded
        for first in range(0, count, ahead):
            yield from pool.map(block, range(first, min(first + ahead, count), BLOCK_FRAMES))


def _banded_db(windows: Floats, n_fft: int) -> Floats:
    """The bands' levels of windows of sound, shape (frames, SPECTRUM_BINS)."""
    size = np.abs(np.fft.rfft(windows * window(windows.shape[1]), n_fft, axis=1)).astype(np.float32)
    banded = np.concatenate([size[:, bins] @ weight for bins, weight in _groups(n_fft)], axis=1)
    return np.asarray(20 * np.log10(np.maximum(banded, 1e-7)), dtype=np.float32)


def reference_db(loudest_db: NDArray[np.floating]) -> float:
    """Return what counts as loud in a take, from each frame's loudest bin of the long spectrum."""
    return max(float(np.quantile(loudest_db, LOUD_SHARE)), QUIETEST_REFERENCE_DB)


def stacked(long_db: Floats, short_db: Floats, loud_db: float) -> Floats:
    """Return the network's input, shape (frames, PITCHES, CHANNELS), 0 to CEILING."""
    copies = []
    for level, harmonics in ((long_db, LONG_HARMONICS), (short_db, SHORT_HARMONICS)):
        scaled = np.clip((level - loud_db) / RANGE_DB + 1, 0, CEILING)
        for first in shifts(harmonics):
            copies.append(scaled[:, first : first + SUB_BINS * PITCHES].reshape(len(level), PITCHES, SUB_BINS))
    return np.asarray(np.concatenate(copies, axis=2), dtype=np.float32)


def harmonic_spectrum(sound: Floats) -> Floats:
    """Return the network's input for a whole sound at RATE_HZ, shape (frames, PITCHES, CHANNELS)."""
    long_db, short_db = (np.concatenate(parts) for parts in zip(*spectra(sound), strict=True))
    return stacked(long_db, short_db, reference_db(long_db.max(axis=1)))
