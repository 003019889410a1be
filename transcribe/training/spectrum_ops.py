"""The network's view of a sound, on whatever Keras runs on: the same numbers as evidence/harmonic_spectrum.py."""

from __future__ import annotations

from typing import Any

import numpy as np
from keras import ops

from transcribe.evidence import harmonic_spectrum as view
from transcribe.training.truth_maps import FRAMES

Array = Any


def harmonic_spectra(sound: Array) -> Array:
    """Return the inputs for a batch of clips, (batch, FRAMES, PITCHES, CHANNELS)."""
    long_db = _decibels(sound, view.LONG_WINDOW, view.LONG_FFT)
    short_db = _decibels(sound, view.SHORT_WINDOW, view.SHORT_FFT)
    loud = ops.quantile(ops.max(long_db, axis=2), view.LOUD_SHARE, axis=1)
    loud = ops.maximum(loud, view.QUIETEST_REFERENCE_DB)[:, None, None]
    copies = []
    for level, harmonics in ((long_db, view.LONG_HARMONICS), (short_db, view.SHORT_HARMONICS)):
        scaled = ops.clip((level - loud) / view.RANGE_DB + 1, 0, view.CEILING)
        for first in view.shifts(harmonics):
            copy = scaled[:, :, first : first + view.SUB_BINS * view.PITCHES]
            copies.append(ops.reshape(copy, (*copy.shape[:2], view.PITCHES, view.SUB_BINS)))
    return ops.concatenate(copies, axis=3)


def _decibels(sound: Array, length: int, n_fft: int) -> Array:
    half = length // 2
    padded = ops.pad(sound, [[0, 0], [half, half]])
    place = np.arange(FRAMES, dtype=np.int32)[:, None] * view.HOP + np.arange(length, dtype=np.int32)
    frames = ops.take(padded, place, axis=1) * view.window(length)
    re, im = ops.rfft(frames, fft_length=n_fft)
    size = ops.matmul(ops.sqrt(re**2 + im**2), view.bands(n_fft))
    return 20 / np.log(10) * ops.log(ops.maximum(size, 1e-7))
