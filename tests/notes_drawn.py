"""Hand-drawn evidence: salience maps in which every voice is known because we drew it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.evidence import Evidence

HOP_S = 0.01
BIN_MIDI = 24.0 + 0.2 * np.arange(360)  # 20 cents a bin, as CREPE


def drawn_evidence(
    *voices: tuple[float, Sequence[float] | NDArray[np.float64], float],
    seconds: float,
    onsets_s: Sequence[float] = (),
    onset_bins: Sequence[tuple[float, float]] | None = None,
) -> Evidence:
    """Return a map with a Gaussian bump along each voice (start in s, MIDI pitch a frame, height).

    ``onsets_s`` mark a map for all pitches together, ``onset_bins`` (time in s, MIDI pitch) one over pitches.
    """
    frames = round(seconds / HOP_S)
    salience = np.zeros((frames, BIN_MIDI.size), dtype=np.float32)
    for start_s, pitches, height in voices:
        first = round(start_s / HOP_S)
        for k, midi in enumerate(pitches):
            if first + k < frames:
                bump = height * np.exp(-0.5 * ((BIN_MIDI - midi) / 0.25) ** 2)
                salience[first + k] = np.maximum(salience[first + k], bump)
    if onset_bins is None:
        onset = np.zeros((frames, 1), dtype=np.float32)
        for time_s in onsets_s:
            onset[round(time_s / HOP_S), 0] = 0.9
    else:
        onset = np.zeros((frames, BIN_MIDI.size), dtype=np.float32)
        for time_s, midi in onset_bins:
            onset[round(time_s / HOP_S)] += (0.9 * np.exp(-0.5 * ((BIN_MIDI - midi) / 0.25) ** 2)).astype(np.float32)
    return Evidence(0.0, HOP_S, BIN_MIDI, salience, onset, np.full(frames, -20.0, dtype=np.float32))


def held(midi: float, seconds: float) -> NDArray[np.float64]:
    """Return one pitch for every frame of so many seconds."""
    return np.full(round(seconds / HOP_S), midi)
