"""Whether new energy stands at a note's own partials when it is said to begin.

A string that is struck again gains at its partials, and at those that no other string struck at the same moment
shares; a string that only rings on, or that is heard because another's partials fall on its pitch, does not. The
spectrum just before is held against the one just after (Hann windows of 93 ms).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.evidence.voice_maps import VoiceMaps, shares

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

WINDOW_S = 0.093
BEFORE_S, AFTER_S = -0.055, 0.06  # middles of the windows, from the onset
PARTIALS = 8
WITHIN_CENTS = 35.0  # of its formula a partial is looked for
APART_HZ = 24.0  # partials nearer than a window's main lobe are one
FLOOR_DB = -70.0  # under the loudest partial of the take
MOST_DB = 30.0
ROWS_AT_ONCE = 256


def partial_features(recording: Recording, maps: VoiceMaps, frames: Whole, rows: Whole, at: Floats) -> Floats:
    """Return for each place how its partials rise and how they stand to one another, shape (n, 9), in tens of dB."""
    midi = rows + maps.lowest_midi + _deviation(maps, frames, rows)
    pitch_hz = 440.0 * 2.0 ** ((midi - 69) / 12)
    moments_s = maps.start_s + at * maps.hop_s - recording.start_s
    before = _levels(recording, moments_s + BEFORE_S, pitch_hz)
    after = _levels(recording, moments_s + AFTER_S, pitch_hz)
    loudest = max(float(after.max(initial=-200.0)), -120.0)
    before, after = (np.maximum(each, loudest + FLOOR_DB) for each in (before, after))
    rise = np.clip(after - before, -MOST_DB, MOST_DB)
    free = _free(maps, frames, rows, pitch_hz)
    heard = after > loudest + FLOOR_DB + 15
    counted = free & heard
    count = counted.sum(axis=1)
    some = np.maximum(count, 1)
    top = np.where(counted, rise, -MOST_DB).max(axis=1)
    mean = np.where(counted, rise, 0.0).sum(axis=1) / some
    weight = 10 ** (after / 20)
    columns = [
        np.where(count > 0, top, 0.0) / 10,
        np.where(count > 0, mean, 0.0) / 10,
        count / PARTIALS,
        rise[:, 0] / 10,
        rise.mean(axis=1) / 10,
        (rise * weight).sum(axis=1) / weight.sum(axis=1) / 10,
        (after[:, 0] - after.max(axis=1)) / 10,
        (after[:, 0:6:2].mean(axis=1) - after[:, 1:6:2].mean(axis=1)) / 10,
        (after.max(axis=1) - loudest) / 10,
    ]
    return np.stack(columns, axis=1)


def _deviation(maps: VoiceMaps, frames: Whole, rows: Whole) -> Floats:
    """How far the contour stands from each row's semitone shortly after, in semitones."""
    last = maps.n_frames - 1
    bins = rows[:, None] * maps.sub_bins + np.arange(maps.sub_bins)
    here = np.minimum(frames + 4, last)[:, None]
    best = maps.contour[here, bins].argmax(axis=1)
    chosen = rows * maps.sub_bins + best
    offset = np.clip(maps.offset[here[:, 0], chosen] / 64.0, -1, 1)
    return np.asarray((best - maps.sub_bins // 2 + offset) / maps.sub_bins, dtype=np.float64)


def _levels(recording: Recording, moments_s: Floats, pitch_hz: Floats) -> Floats:
    """Level of each place's partials in a window around its moment, in decibels, (n, PARTIALS)."""
    size = round(WINDOW_S * recording.rate_hz)
    fft = 1 << int(np.ceil(np.log2(2 * size)))
    window = np.hanning(size).astype(np.float32)
    sound = np.pad(recording.samples, size)
    first = np.clip(np.round(moments_s * recording.rate_hz).astype(int) + size - size // 2, 0, sound.size - size)
    spread = 2.0 ** (np.linspace(-WITHIN_CENTS, WITHIN_CENTS, 7) / 1200)
    bins = pitch_hz[:, None, None] * np.arange(1, PARTIALS + 1)[None, :, None] * spread * fft / recording.rate_hz
    out = np.empty((pitch_hz.size, PARTIALS))
    for k in range(0, pitch_hz.size, ROWS_AT_ONCE):
        part = slice(k, k + ROWS_AT_ONCE)
        cut = sound[first[part][:, None] + np.arange(size)] * window
        place = np.minimum(np.round(bins[part]).astype(int), fft // 2)
        seen = np.take_along_axis(np.fft.rfft(cut, fft), place.reshape(len(place), -1), axis=1).reshape(place.shape)
        out[part] = 20 * np.log10(np.abs(seen).max(axis=2) * 2 / window.sum() + 1e-7)
    return out


def _free(maps: VoiceMaps, frames: Whole, rows: Whole, pitch_hz: Floats) -> NDArray[np.bool_]:
    """Which partials of each place fall on no partial of another pitch that sounds then, (n, PARTIALS)."""
    contour = shares(maps.contour).reshape(maps.n_frames, -1, maps.sub_bins).max(axis=2)
    numbers = np.arange(1, 4 * PARTIALS + 1)
    all_hz = 440.0 * 2.0 ** ((np.arange(contour.shape[1]) + maps.lowest_midi - 69) / 12)
    free = np.ones((frames.size, PARTIALS), dtype=bool)
    for k, (frame, row) in enumerate(zip(frames, rows, strict=True)):
        after = min(frame + 1, maps.n_frames - 1)  # where the take breaks off, its last frame is all there is
        sounding = contour[after : after + 6].mean(axis=0) > 0.4
        sounding[max(0, row - 1) : row + 2] = False
        others = (all_hz[sounding][:, None] * numbers).ravel()
        if others.size:
            own = pitch_hz[k] * numbers[:PARTIALS]
            free[k] = np.abs(own[:, None] - others[None, :]).min(axis=1) > APART_HZ
    return free
