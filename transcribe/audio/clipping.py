"""How much of a take was cut off at the converter's limit, told apart from a driven guitar."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.settings import AudioSettings

ONE_STEP = 1.1 / 32768  # a flat top in a 16-bit file is equal to the last bit; dither may turn that bit
NEAR_TOP = 0.97  # "close under the top", for telling a corner from a round shoulder
SOUNDING_BLOCK_S = 0.02


@dataclass(frozen=True, slots=True)
class Clipping:
    """What the tops of the waves look like."""

    share: float  # of the sounding samples that lie in flat tops, 0 to 1
    corner: float  # of the samples close under the top that lie in flat tops: 1 sawn off, near 0 rounded by a drive
    top: float  # where the flat tops lie, full scale is 1.0
    past_share: float  # of the sounding samples above full scale (a lossy file of a clipped take)


def measure_clipping(samples: NDArray[np.float32], rate_hz: int, *, settings: AudioSettings) -> Clipping:
    """Return how much of the take is sawn off at its own highest or lowest value.

    A converter that runs out saws the wave off: runs of equal samples at the extreme, and few samples just under it.
    A valve, fuzz or amplifier model rounds the wave: many samples crowd just under the extreme, few are equal.
    Both sides of the wave are looked at, since an offset makes one side clip first. (Own method, checked on plucked
    tones sawn off by known amounts and on the same tones through a tanh drive.)
    """
    sounding = max(1, _sounding_samples(samples, rate_hz, settings.sounding_db))
    flat = near = 0
    top = 0.0
    for extreme, at_least in ((float(samples.max()), np.greater_equal), (float(samples.min()), np.less_equal)):
        size = abs(extreme)
        if extreme == 0 or (extreme > 0) != (at_least is np.greater_equal):
            continue  # the wave never comes to this side
        flat_here = _in_runs(at_least(samples, extreme - np.sign(extreme) * ONE_STEP * size), settings.clipping_run)
        if flat_here:
            flat += flat_here
            near += int(np.count_nonzero(at_least(samples, NEAR_TOP * extreme)))
        top = max(top, size)
    past = int(np.count_nonzero(samples > 1.0 + ONE_STEP) + np.count_nonzero(samples < -1.0 - ONE_STEP))
    return Clipping(min(1.0, flat / sounding), flat / max(1, near), top, min(1.0, past / sounding))


def _in_runs(at_top: NDArray[np.bool_], shortest: int) -> int:
    """Return how many samples lie in runs of at least ``shortest``."""
    at = np.flatnonzero(at_top)
    ends = np.flatnonzero(np.diff(at) != 1)
    lengths = np.diff(np.concatenate([[-1], ends, [at.size - 1]])) if at.size else at
    return int(lengths[lengths >= shortest].sum())


def _sounding_samples(samples: NDArray[np.float32], rate_hz: int, within_db: float) -> int:
    block = max(1, round(SOUNDING_BLOCK_S * rate_hz))
    n_blocks = samples.size // block
    if n_blocks == 0:
        return samples.size
    blocks = samples[: n_blocks * block].reshape(n_blocks, block)
    power = np.einsum("ij,ij->i", blocks, blocks) / block
    return int(np.count_nonzero(power > power.max() * 10 ** (within_db / 10))) * block
