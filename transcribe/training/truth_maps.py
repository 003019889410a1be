"""What the network should answer: maps of sounding pitch, picked and legato onsets, held notes, strings, manner.

Channels of the answer, at each frame and pitch: three bins of contour, their offsets, picked, legato, held, six
strings, palm-muted, harmonic.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from keras import ops

from transcribe.evidence.harmonic_spectrum import HOP, LOWEST_MIDI, PITCHES, SUB_BINS
from transcribe.training.sheet import STRINGS, TICKS
from transcribe.training.strokes import TICK
from transcribe.training.voicing import QUIETEST_DB, Heard

Array = Any

TICKS_A_FRAME = HOP // TICK
CONTOUR, OFFSET, PICKED, LEGATO, HELD, STRING, MANNER = (
    slice(0, 3), slice(3, 6), slice(6, 7), slice(7, 8), slice(8, 9), slice(9, 15), slice(15, 17),
)  # fmt: skip
ANSWERS = 17
FRAMES = TICKS // TICKS_A_FRAME
CONTOUR_WIDTH = 0.8  # bins
ONSET_WIDTH = 0.8  # frames


def truth_maps(heard: Heard, events: Array, known: Array) -> Array:
    """Return the maps, (batch, frames, PITCHES, ANSWERS).

    ``events`` (batch, n, fields of the sheet) are the notes; ``known`` (batch,) says where the string is meaningful:
    elsewhere the string channels are all zero. Contour follows bends at the sounding pitch while a note is held and
    within 33 dB of the clip's loudest string.
    """
    frames_of = lambda x: ops.reshape(x, (*x.shape[:2], -1, TICKS_A_FRAME))  # noqa: E731
    sound = heard.sound[:, :STRINGS]
    power = ops.mean(ops.reshape(sound, (*sound.shape[:2], -1, HOP)) ** 2, axis=-1)
    shown = ops.cast(power > ops.max(power, axis=(1, 2), keepdims=True) * 10 ** (QUIETEST_DB / 10), "float32")
    # a frame is centred on its first sample: it shows what is held there
    active = frames_of(heard.held)[..., 0] * shown
    midi = frames_of(heard.midi)[..., 0]
    return ops.concatenate(
        [_contour(midi, active), _onsets(events), _held(midi, active, known), _manner(events)], axis=-1
    )


def _contour(midi: Array, active: Array) -> Array:
    """Sounding pitch as bumps over the bins, and from each bin to the nearest sounding pitch, in bins."""
    bins = LOWEST_MIDI + (np.arange(PITCHES * SUB_BINS) - 1) / SUB_BINS
    away = (ops.expand_dims(midi, -1) - bins.astype(np.float32)) * SUB_BINS  # (batch, 6, frames, bins)
    bump = ops.max(ops.expand_dims(active, -1) * ops.exp(-0.5 * (away / CONTOUR_WIDTH) ** 2), axis=1)
    far = ops.where(ops.expand_dims(active, -1) > 0, ops.abs(away), 99.0)
    nearest = ops.expand_dims(ops.argmin(far, axis=1), 1)
    offset = ops.take_along_axis(away, nearest, axis=1)[:, 0]
    near = ops.cast(ops.min(far, axis=1) < 1.5, "float32")
    shape = (*bump.shape[:2], PITCHES, SUB_BINS)
    return ops.concatenate([ops.reshape(bump, shape), ops.reshape(offset * near, shape)], axis=-1)


def _onsets(events: Array) -> Array:
    """Picked and legato onsets as bumps in time at the sounding pitch."""
    frames = ops.arange(FRAMES, dtype="float32")
    moment = events[..., 0] / TICKS_A_FRAME
    bump = ops.exp(-0.5 * ((frames - moment[..., None]) / ONSET_WIDTH) ** 2)  # (batch, n, frames)
    row = ops.cast(ops.round(events[..., 1]) - LOWEST_MIDI, "int32")
    at = ops.cast(ops.expand_dims(row, -1) == np.arange(PITCHES), "float32")  # (batch, n, pitches)
    maps = []
    for legato in (0.0, 1.0):
        mine = ops.cast(events[..., 2] == legato, "float32")
        spread = ops.expand_dims(bump, -1) * ops.expand_dims(at * mine[..., None], 2)
        maps.append(ops.max(spread, axis=1))
    return ops.stack(maps, axis=-1)


def _held(midi: Array, active: Array, known: Array) -> Array:
    """Whether a note sounds at each pitch, and on which string."""
    row = ops.cast(ops.round(midi) - LOWEST_MIDI, "int32")
    at = ops.expand_dims(active, -1) * ops.cast(ops.expand_dims(row, -1) == np.arange(PITCHES), "float32")
    strings = ops.moveaxis(at, 1, -1) * known[:, None, None, None]
    return ops.concatenate([ops.max(at, axis=1)[..., None], strings], axis=-1)


def _manner(events: Array) -> Array:
    """Palm-muted notes and harmonics, told at their onsets."""
    frames = ops.arange(FRAMES, dtype="float32")
    moment = events[..., 0] / TICKS_A_FRAME
    near = ops.cast(ops.abs(frames - moment[..., None]) < 2.0, "float32")
    row = ops.cast(ops.round(events[..., 1]) - LOWEST_MIDI, "int32")
    at = ops.cast(ops.expand_dims(row, -1) == np.arange(PITCHES), "float32")
    maps = []
    for field in (3, 4):
        mine = ops.cast(events[..., field] > 0, "float32")
        maps.append(ops.max(ops.expand_dims(near, -1) * ops.expand_dims(at * mine[..., None], 2), axis=1))
    return ops.stack(maps, axis=-1)
