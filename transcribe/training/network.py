"""The several-voices network in Keras 3, and what it is punished for.

A stem and residual blocks over time and pitch, each with a look along all pitches at once. Dilated residual blocks
follow F. Yu and V. Koltun, "Multi-Scale Context Aggregation by Dilated Convolutions", ICLR 2016. To run fast, each
kernel is two in turn, over time and over pitch, with fewer channels between (M. Jaderberg, A. Vedaldi and A. Zisserman,
"Speeding up Convolutional Neural Networks with Low Rank Expansions", BMVC 2014), and the blocks that look far look at
every second frame.
"""

from __future__ import annotations

from typing import Any

import keras
from keras import ops

from transcribe.errors import SettingsError
from transcribe.evidence.harmonic_spectrum import CHANNELS, PITCHES
from transcribe.training.truth_maps import ANSWERS, CONTOUR, HELD, LEGATO, MANNER, OFFSET, PICKED, STRING

WIDTH = 80
DILATIONS = (1, 2, 4, 8, 16, 4, 1)  # frames; the first and the last block hear every frame, those between every second
STEM_RANK, RANK = 32, 48  # channels between the two kernels
GLANCE = 8  # channels that look along all pitches
STRING_WEIGHT = 0.2
PICKED_WEIGHT, LEGATO_WEIGHT = 3.0, 6.0  # a finger begins fewer notes than a pick, and more softly: it is heard last


def build_network(*, width: int = WIDTH, dilations: tuple[int, ...] = DILATIONS) -> Any:
    """Return the untrained network: (batch, frames, PITCHES, CHANNELS) to logits (batch, frames, PITCHES, ANSWERS).

    The count of frames must be even. Raises SettingsError where the blocks between the first and the last, which hear
    every second frame, cannot look so far.
    """
    if len(dilations) < 2 or any(dilation % 2 for dilation in dilations[1:-1]):
        raise SettingsError(
            f"blocks of dilations {dilations} cannot hear every second frame between the first and the last",
            "Give two or more, all between the first and the last even.",
        )
    layers = keras.layers
    entry = keras.Input((None, PITCHES, CHANNELS), name="view")
    x = layers.Conv2D(STEM_RANK, (1, 5), padding="same", use_bias=False, name="stem-pitch")(entry)
    x = layers.Conv2D(width, (3, 1), padding="same", use_bias=False, name="stem")(x)
    x = layers.ReLU()(layers.BatchNormalization(name="stem-norm")(x))
    x = _block(x, 0, dilations[0])
    seconds = every_second(x)
    y = seconds
    for k in range(1, len(dilations) - 1):
        y = _block(y, k, dilations[k] // 2)
    x = layers.Add()([x, every_frame(layers.Subtract()([y, seconds]))])  # what those between have added
    x = _block(x, len(dilations) - 1, dilations[-1])
    answers = layers.Conv2D(ANSWERS, (3, 1), padding="same", dtype="float32", name="answers")(x)
    return keras.Model(entry, answers, name="several-voices")


def _block(x: Any, k: int, dilation: int) -> Any:
    layers, width = keras.layers, x.shape[-1]
    y = layers.Conv2D(RANK, (3, 1), padding="same", dilation_rate=(dilation, 1), use_bias=False, name=f"block{k}-time")(
        x
    )
    y = layers.Conv2D(width, (1, 3), padding="same", use_bias=False, name=f"block{k}-near")(y)
    y = layers.ReLU()(layers.BatchNormalization(name=f"block{k}-near-norm")(y))
    y = layers.Conv2D(width, 1, use_bias=False, name=f"block{k}-mix")(y)
    y = layers.BatchNormalization(name=f"block{k}-mix-norm")(y)
    z = layers.Conv2D(GLANCE, 1, name=f"block{k}-narrow")(x)
    z = layers.Permute((1, 3, 2))(z)
    z = layers.Dense(PITCHES, name=f"block{k}-along")(z)
    z = layers.ReLU()(layers.Permute((1, 3, 2))(z))
    z = layers.Conv2D(width, 1, name=f"block{k}-widen")(z)
    return layers.ReLU()(layers.Add()([x, y, z]))


def every_second(x: Any) -> Any:
    """Return frames 0, 2, 4 ...; as a change of shape, since the small runtime is slow at steps."""
    return keras.layers.Reshape((-1, 2 * PITCHES, x.shape[-1]))(x)[:, :, :PITCHES]


def every_frame(x: Any) -> Any:
    """Return each frame twice."""
    return keras.layers.Reshape((-1, PITCHES, x.shape[-1]))(keras.layers.Concatenate(axis=2)([x, x]))


def loss(truth: Any, logits: Any) -> Any:
    """Return the weighted error of one batch: what sounds, how far from the bin, onsets, held, string, manner."""
    contour, offset, string = truth[..., CONTOUR], truth[..., OFFSET], truth[..., STRING]
    total = 0.5 * _cross_entropy(contour, logits[..., CONTOUR], 1.0)
    near = ops.cast(contour > 0.3, "float32")
    away = ops.abs(ops.tanh(logits[..., OFFSET]) * 2.0 - offset)
    smooth = ops.where(away < 0.25, 2.0 * away**2, away - 0.125)
    total += 0.5 * ops.sum(smooth * near) / (ops.sum(near) + 1.0)
    total += PICKED_WEIGHT * _cross_entropy(truth[..., PICKED], logits[..., PICKED], 2.0)
    total += LEGATO_WEIGHT * _cross_entropy(truth[..., LEGATO], logits[..., LEGATO], 3.0)
    total += 0.5 * _cross_entropy(truth[..., HELD], logits[..., HELD], 2.0)
    known = ops.max(string, axis=-1)
    share = ops.log_softmax(logits[..., STRING], axis=-1)
    total -= STRING_WEIGHT * ops.sum(ops.sum(string * share, axis=-1)) / (ops.sum(known) + 1.0)
    begun = ops.cast(ops.max(truth[..., PICKED], axis=-1, keepdims=True) > 0.3, "float32")
    manner = _logistic(truth[..., MANNER], logits[..., MANNER])
    return total + 0.1 * ops.sum(manner * begun) / (ops.sum(begun) + 1.0)


def _logistic(truth: Any, logits: Any) -> Any:
    return ops.maximum(logits, 0.0) - logits * truth + ops.log1p(ops.exp(-ops.abs(logits)))


def _cross_entropy(truth: Any, logits: Any, positive: float) -> Any:
    """Logistic loss, positives weighing more; summed over pitches, averaged over frames and scaled to a usual size."""
    weight = 1.0 + (positive - 1.0) * truth
    return ops.mean(weight * _logistic(truth, logits)) * 30.0
