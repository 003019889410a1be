"""A kernel over time and pitch as two in turn, with fewer channels between: the nearest for what passes through it.

M. Jaderberg, A. Vedaldi and A. Zisserman, "Speeding up Convolutional Neural Networks with Low Rank Expansions", BMVC
2014, their second scheme, fitted to the layer's outputs (their section 3.2); the fit is a singular value
decomposition weighed by what the inputs have in common.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

RIDGE = 1e-4  # of the inputs' mean power, so that directions nobody uses do not blow up


def time_then_pitch(kernel: Floats, inputs: Floats, *, rank: int, dilation: int) -> tuple[Floats, Floats]:
    """Return kernels (times, 1, in, rank) and (1, pitches, rank, out) for one (times, pitches, in, out).

    ``inputs``, (batch, frames, pitches, in), is what the layer hears; ``dilation`` is in frames.
    """
    times, pitches, into, out = kernel.shape
    seen = _neighbours(inputs, times, axis=1, step=dilation)
    first, then = _halves(seen, kernel.transpose(0, 2, 1, 3).reshape(times * into, pitches * out), rank)
    return first.reshape(times, 1, into, rank), then.reshape(rank, pitches, out).transpose(1, 0, 2)[None]


def pitch_then_time(kernel: Floats, inputs: Floats, *, rank: int) -> tuple[Floats, Floats]:
    """Return kernels (1, pitches, in, rank) and (times, 1, rank, out) for one (times, pitches, in, out)."""
    times, pitches, into, out = kernel.shape
    seen = _neighbours(inputs, pitches, axis=2, step=1)
    first, then = _halves(seen, kernel.transpose(1, 2, 0, 3).reshape(pitches * into, times * out), rank)
    return first.reshape(1, pitches, into, rank), then.reshape(rank, times, out).transpose(1, 0, 2)[:, None]


def _neighbours(inputs: Floats, taps: int, *, axis: int, step: int) -> Floats:
    """Each place with those around it, (places, taps * in); beyond the edge is nothing, as in the layer."""
    reach = taps // 2 * step
    around = [(0, 0)] * 4
    around[axis] = (reach, reach)
    padded, length = np.pad(inputs, around), inputs.shape[axis]
    shifted = [padded.take(range(k * step, k * step + length), axis=axis) for k in range(taps)]
    return np.stack(shifted, axis=3).reshape(-1, taps * inputs.shape[-1])


def _halves(seen: Floats, kernel: Floats, rank: int) -> tuple[Floats, Floats]:
    """Two matrices whose product is, of its rank, nearest to ``kernel`` in what it makes of ``seen``."""
    power = (seen.T @ seen).astype(np.float64) / len(seen)
    power += RIDGE * max(np.trace(power) / len(power), 1e-12) * np.eye(len(power))
    strength, directions = np.linalg.eigh(power)
    scale = np.sqrt(strength)
    left, sizes, right = np.linalg.svd((directions * scale).T @ kernel, full_matrices=False)
    share = np.sqrt(sizes[:rank])
    first, then = (directions / scale) @ left[:, :rank] * share, share[:, None] * right[:rank]
    spare = rank - share.size  # a small layer has no more directions than these
    return np.pad(first, ((0, 0), (0, spare))).astype(np.float32), np.pad(then, ((0, spare), (0, 0))).astype(np.float32)
