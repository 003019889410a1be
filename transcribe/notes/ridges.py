"""Salience map to ridges: peaks of one pitch followed from frame to frame, each peak claimed once.

A ridge is what one string may be doing. Which ridges are heard as voices is decided in ``track.py``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.evidence import Evidence
from transcribe.settings import NoteSettings


@dataclass(frozen=True, slots=True, eq=False)
class Peaks:
    """Every peak of a salience map, in time order, and the ridge that claimed it."""

    frame: NDArray[np.int64]  # (n_peaks,)
    midi: NDArray[np.float64]  # (n_peaks,) between bins
    salience: NDArray[np.float64]  # (n_peaks,)
    ridge: NDArray[np.int64]  # (n_peaks,) number of the ridge


def salience_peaks(
    evidence: Evidence, *, floor: float
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Return frame, pitch (MIDI) and height of each local maximum above ``floor``, in time order, each (n_peaks,).

    The pitch is read between bins: a parabola through the logarithm of the peak and its two neighbours, which is exact
    for the Gaussian bumps that such networks are trained to draw.
    """
    salience = evidence.salience
    inner = salience[:, 1:-1]
    top = (inner > floor) & (inner > salience[:, :-2]) & (inner >= salience[:, 2:])
    frame, column = np.nonzero(top)
    column = column + 1
    low, mid, high = (
        np.log(np.maximum(salience[frame, column + step], 1e-6)).astype(np.float64) for step in (-1, 0, 1)
    )
    bend = np.minimum(low - 2 * mid + high, -1e-9)
    shift = np.clip(0.5 * (low - high) / bend, -0.5, 0.5)
    midi = np.interp(column + shift, np.arange(evidence.bin_midi.size), evidence.bin_midi)
    return frame.astype(np.int64), midi, salience[frame, column].astype(np.float64)


def follow_ridges(evidence: Evidence, settings: NoteSettings) -> Peaks:
    """Return all peaks of the map with the ridge each belongs to.

    Open ridges claim the nearest peak within reach, nearest pairs first; a peak nobody claims opens a ridge; a ridge
    that misses more than a few frames is closed. A moving ridge is looked for where its speed would carry it.
    """
    frame, midi, salience = salience_peaks(evidence, floor=settings.peak_floor)
    ridge = np.full(frame.size, -1, dtype=np.int64)
    starts = np.searchsorted(frame, np.arange(evidence.salience.shape[0] + 1))
    frames_missed = max(1, round(settings.ridge_gap_s / evidence.hop_s))
    reach = settings.ridge_speed_semitones_per_s * evidence.hop_s
    open_id: list[int] = []
    open_midi: list[float] = []
    open_speed: list[float] = []
    open_last: list[int] = []
    count = 0
    for now in range(evidence.salience.shape[0]):
        keep = [k for k, last in enumerate(open_last) if now - last <= frames_missed]
        open_id, open_midi = [open_id[k] for k in keep], [open_midi[k] for k in keep]
        open_speed, open_last = [open_speed[k] for k in keep], [open_last[k] for k in keep]
        begin, end = int(starts[now]), int(starts[now + 1])
        if begin == end:
            continue
        claimed: set[int] = set()
        served: set[int] = set()
        for distance, k, peak in _pairs(midi[begin:end], open_midi, open_speed, [now - last for last in open_last]):
            if k in served or peak in claimed or distance > reach * (1 + 0.3 * (now - open_last[k] - 1)):
                continue
            served.add(k)
            claimed.add(peak)
            here = float(midi[begin + peak])
            speed = (here - open_midi[k]) / (now - open_last[k])
            ridge[begin + peak] = open_id[k]
            open_speed[k] = 0.5 * open_speed[k] + 0.5 * speed
            open_midi[k], open_last[k] = here, now
        for peak in range(end - begin):
            if peak not in claimed:
                ridge[begin + peak] = count
                open_id.append(count)
                open_midi.append(float(midi[begin + peak]))
                open_speed.append(0.0)
                open_last.append(now)
                count += 1
    return Peaks(frame=frame, midi=midi, salience=salience, ridge=ridge)


def _pairs(
    peaks: NDArray[np.float64], ridges: list[float], speeds: list[float], waited: list[int]
) -> list[tuple[float, int, int]]:
    """Every (distance in semitones, ridge, peak), nearest first, from where the ridge stood or was heading."""
    found = []
    for k, (stood, speed, frames) in enumerate(zip(ridges, speeds, waited, strict=True)):
        for peak, pitch in enumerate(peaks):
            distance = min(abs(pitch - stood), abs(pitch - stood - speed * frames) + 0.02)
            found.append((float(distance), k, peak))
    return sorted(found)
