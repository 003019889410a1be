"""Where something short starts in a take, and how it sounds: what clicks are looked for among."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Powers = NDArray[np.float32]

HOP_S, WINDOW_S = 0.002, 0.02
BANDS, LOWEST_HZ = 20, 500.0  # bands of equal ratio from here up; most of a guitar's power lies below
BEFORE_S, DEAD_S = 0.024, 0.11  # a start is louder than this long before, and a click has died away this long after
RISE_DB, FALL_DB = 12.0, 14.0
ONSET_DB = 10.0  # under its loudest, a click has begun
APART_S = 0.08  # of two starts nearer than this the louder is kept
FLOOR = 1e-7  # of the greatest power: what is softer counts as silence


@dataclass(frozen=True, slots=True, eq=False)
class Starts:
    """Short starts in order of time."""

    loudest_s: Floats  # shape (starts,), steadier from click to click than when they begin
    begun_s: Floats  # shape (starts,)
    added: Floats  # amplitude that each added in each band, shape (starts, BANDS)

    @property
    def colours(self) -> Floats:
        """What each added, as unit vectors, shape (starts, BANDS)."""
        colours: Floats = self.added / np.maximum(np.linalg.norm(self.added, axis=1, keepdims=True), 1e-20)
        return colours


def short_starts(samples: NDArray[np.floating], rate_hz: int) -> tuple[Starts, Starts]:
    """Return the short starts that sound alone, and those in any band whatever else sounds. ``samples``: shape (n,)."""
    bands = _band_power(np.asarray(samples, np.float32), rate_hz)
    before, dead = round(BEFORE_S / HOP_S), round(DEAD_S / HOP_S)
    if bands.shape[0] < (before + dead) * 2:
        none = Starts(np.empty(0), np.empty(0), np.empty((0, BANDS)))
        return none, none
    whole = bands.sum(axis=1)
    floor = np.float32(bands.max() * FLOOR + 1e-20)
    level, sharp = _sharp(whole[:, None], floor, before, dead)
    alone = np.where(sharp[:, 0], level[:, 0], -np.inf)
    level, sharp = _sharp(bands, floor, before, dead)
    among = np.where(sharp, level, -np.inf).max(axis=1)
    return (
        _starts(bands, whole, _peaks(alone) + before, before),
        _starts(bands, whole, _peaks(among) + before, before),
    )


def _sharp(power: Powers, floor: np.float32, before: int, dead: int) -> tuple[Powers, NDArray[np.bool_]]:
    """The level, and where it is well above what was before and what comes after, but for the ends of the take."""
    level = 10 * np.log10(power + floor)
    here = level[before:-dead]
    return here, (here - level[: -dead - before] > RISE_DB) & (here - level[before + dead :] > FALL_DB)


def _starts(bands: Powers, whole: Powers, frames: NDArray[np.int64], before: int) -> Starts:
    added = np.sqrt(np.maximum(bands[frames].astype(np.float64) - bands[frames - before], 0.0))
    begun = frames.copy()
    for index, frame in enumerate(frames):
        while begun[index] > 0 and whole[begun[index] - 1] > whole[frame] * 10 ** (-ONSET_DB / 10):
            begun[index] -= 1
    middle_s = WINDOW_S / 2
    return Starts(frames.astype(np.float64) * HOP_S + middle_s, begun.astype(np.float64) * HOP_S + middle_s, added)


def _band_power(samples: NDArray[np.float32], rate_hz: int) -> Powers:
    """Return the power in each band, shape (frames, BANDS)."""
    window, hop = int(WINDOW_S * rate_hz), HOP_S * rate_hz
    count = max(0, int((samples.size - window) / hop))
    shape = np.hanning(window).astype(np.float32)
    hz = np.fft.rfftfreq(window, 1 / rate_hz)
    edges = LOWEST_HZ * (0.45 * rate_hz / LOWEST_HZ) ** (np.arange(BANDS + 1) / BANDS)
    member = ((hz >= edges[:-1, None]) & (hz < edges[1:, None])).astype(np.float32)
    found = np.empty((count, BANDS), np.float32)
    for first in range(0, count, 500):  # bounded memory
        at = np.round(np.arange(first, min(first + 500, count)) * hop).astype(np.int64)
        pieces = samples[at[:, None] + np.arange(window)] * shape
        found[first : first + at.size] = np.abs(np.fft.rfft(pieces, axis=1)) ** 2 @ member.T
    return found


def _peaks(size: Powers) -> NDArray[np.int64]:
    """Return where ``size`` is largest within APART_S either way, in order."""
    reach = round(APART_S / HOP_S)
    found: list[int] = []
    for at in np.flatnonzero(np.isfinite(size)):
        if size[at] < size[max(0, at - reach) : at + reach + 1].max() or (found and at - found[-1] <= reach):
            continue
        found.append(int(at))
    return np.array(found, np.int64)
