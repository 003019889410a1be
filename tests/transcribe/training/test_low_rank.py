"""Kernels taken apart: exact where the rank allows it, else nearest in what the layer answers."""

import numpy as np
import pytest
from scipy.signal import correlate

from transcribe.training.low_rank import pitch_then_time, time_then_pitch

RNG = np.random.default_rng(5)
INPUTS = RNG.standard_normal((2, 20, 12, 4)).astype(np.float32)


def answers(kernel, *, dilation=1):
    """What a layer of this kernel says of INPUTS, by scipy's correlation, without the edges."""
    spread = np.zeros((dilation * (kernel.shape[0] - 1) + 1, *kernel.shape[1:]))
    spread[::dilation] = kernel
    out = [[correlate(clip, spread[..., k], mode="valid")[..., 0] for k in range(kernel.shape[-1])] for clip in INPUTS]
    return np.moveaxis(np.array(out), 1, -1)


def together(first, then):
    if first.shape[0] > 1:
        return np.einsum("tir,fro->tfio", first[:, 0], then[0])
    return np.einsum("fir,tro->tfio", first[0], then[:, 0])


@pytest.mark.parametrize(
    "apart",
    [lambda k, r: time_then_pitch(k, INPUTS, rank=r, dilation=1), lambda k, r: pitch_then_time(k, INPUTS, rank=r)],
    ids=["time first", "pitch first"],
)
def test_a_kernel_of_low_rank_comes_back(apart):
    kernel = RNG.standard_normal((3, 5, 4, 6)).astype(np.float32)
    assert np.allclose(together(*apart(kernel, 30)), kernel, atol=2e-3), "no direction is left out"
    assert not np.allclose(together(*apart(kernel, 3)), kernel, atol=0.1)


def test_what_never_sounds_is_given_up_first():
    """Two channels are nearly silent: at the same rank the answers are nearer than by the kernel alone."""
    loud = np.array([3.0, 1.0, 0.01, 0.01], np.float32)
    kernel = RNG.standard_normal((3, 3, 4, 8)).astype(np.float32)
    first, then = time_then_pitch(kernel, INPUTS * loud, rank=4, dilation=2)
    left, sizes, right = np.linalg.svd(kernel.transpose(0, 2, 1, 3).reshape(12, 24), full_matrices=False)
    plain = ((left[:, :4] * sizes[:4]) @ right[:4]).reshape(3, 4, 3, 8).transpose(0, 2, 1, 3)
    scale = loud[:, None]
    wanted = answers(kernel * scale, dilation=2)
    by_sound = np.abs(answers(together(first, then) * scale, dilation=2) - wanted).mean()
    by_kernel = np.abs(answers(plain * scale, dilation=2) - wanted).mean()
    assert by_sound < 0.7 * by_kernel


def test_a_small_layer_leaves_channels_between_empty():
    kernel = RNG.standard_normal((3, 3, 4, 2)).astype(np.float32)
    first, then = time_then_pitch(kernel, INPUTS, rank=10, dilation=1)
    assert first.shape == (3, 1, 4, 10)
    assert then.shape == (1, 3, 10, 2)
    assert not first[..., 6:].any()
