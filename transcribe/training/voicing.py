"""Sheets to sound, a batch at a time on whatever Keras runs on: each row a modal string or a recorded note replayed.

Partial n of a stiff string sounds at n f sqrt(1 + B n^2) (H. Fletcher, J. Acoust. Soc. Am. 36, 1964); how strongly it
is set going and heard follows from where the string is picked and where it is heard (N. Fletcher and T. Rossing, "The
Physics of Musical Instruments", 2nd ed., chapter 2). All arrays are (batch, rows, ticks) or (batch, rows, ticks,
samples of a tick); nothing here is trained.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from keras import ops

from transcribe.training.note_bank import RATE_HZ
from transcribe.training.sheet import STRINGS, TICKS
from transcribe.training.strokes import FIELD, PARTIALS, PICK_RISE_S, TICK

Array = Any  # of the backend

TICK_S = TICK / RATE_HZ
HIGHEST_HZ = 0.47 * RATE_HZ
STOP_NOISE_S = 0.012
UNDER_FINGER = 0.4  # of a partial a touching finger stops, at the pick
UNDER_FINGER_RATE = 170.0  # a second: such a partial falls by 60 dB in 40 ms
QUIETEST_DB = -33.0  # a string this far under the clip's loudest is no longer told


class Heard(NamedTuple):
    """Each row's sound, and what is true of the six strings at each tick."""

    sound: Array  # (batch, rows, samples)
    noise: Array  # (batch, samples) envelope of picks and fingers on strings
    midi: Array  # (batch, 6, ticks) sounding pitch
    held: Array  # (batch, 6, ticks) 1 where a note is held, whatever its level


class Rows(NamedTuple):
    """What each row is doing at each tick, looked up from its strokes: all (batch, rows, ticks)."""

    since: Array  # seconds since the stroke began
    past: Array  # seconds since it was stopped
    first: Array  # the tick it began at
    midi: Array  # sounding pitch at the start of the tick
    midi_end: Array
    strokes: Array  # (batch, rows, ticks, fields)


def rows_of(index: Array, strokes: Array, bend: Array) -> Rows:
    """Return the strokes spread over the ticks."""
    shape = ops.shape(index)
    spread = ops.take_along_axis(strokes, ops.reshape(index, (*shape, 1)), axis=2)
    tick = ops.arange(TICKS, dtype="float32")
    midi = spread[..., FIELD["midi"]]
    return Rows(
        since=ops.maximum(tick - spread[..., FIELD["tick"]], 0.0) * TICK_S,
        past=ops.maximum(tick - spread[..., FIELD["stop"]], 0.0) * TICK_S,
        first=spread[..., FIELD["tick"]],
        midi=midi + bend[..., 0],
        midi_end=midi + bend[..., 1],
        strokes=spread,
    )


def turns(rate: Array, rate_end: Array, first: Array) -> Array:
    """Return the integral of a rate (a second) since each stroke's first tick: (batch, rows, ticks, TICK)."""
    whole = 0.5 * (rate + rate_end) * TICK_S
    before = ops.cumsum(whole, axis=-1) - whole
    begun = ops.take_along_axis(before, ops.cast(ops.clip(first, 0, TICKS - 1), "int32"), axis=-1)
    inside = ops.arange(TICK, dtype="float32") / TICK
    start = ops.expand_dims(before - begun, -1)
    slope = ops.expand_dims(0.5 * (rate_end - rate), -1) * inside**2
    return start + (ops.expand_dims(rate, -1) * inside + slope) * TICK_S


def _within(values: Array, after: Array) -> Array:
    """Return a straight line inside each tick from its value to the value at its end."""
    inside = ops.arange(TICK, dtype="float32") / TICK
    return ops.expand_dims(values, -1) + ops.expand_dims(after - values, -1) * inside


def modal(rows: Rows, guitar: Array, chance: Array) -> Array:
    """Return the sound of the string model, (batch, rows, ticks, TICK).

    ``guitar`` (batch, 5): power of n added to every partial, damping corner in Hz, share and beating rate (Hz) of the
    string's second plane of motion, unevenness of the partials. ``chance`` (batch, PARTIALS + 1, 2): 0 to 1.
    """
    get = {name: rows.strokes[..., k] for name, k in FIELD.items()}
    bright, damping_hz, plane, beat_hz, uneven = (guitar[:, k][:, None, None] for k in range(5))
    f, f_end = 440.0 * 2.0 ** ((rows.midi - 69.0) / 12), 440.0 * 2.0 ** ((rows.midi_end - 69.0) / 12)
    phase = turns(f, f_end, rows.first)
    after, past_after = rows.since + TICK_S, ops.where(rows.past > 0, rows.past + TICK_S, 0.0)

    def add(n: Any, total: Array) -> Array:
        order = ops.cast(n, "float32")
        stretched = order * ops.sqrt(1.0 + get["stretch"] * order * order)
        hz = f * stretched
        # partials a touching finger has no node for are gone within a few periods
        kept = ops.cast(ops.mod(order, ops.maximum(get["harmonic"], 1.0)) < 0.5, "float32")
        at_pickup = ops.where(get["heard"] > 0, ops.sin(np.pi * order * get["heard"]), 1.0)
        plucked = ops.sin(np.pi * order * get["where"]) * order ** (bright - 1.0) * at_pickup
        touched = 0.6 * ops.exp(-order / 5.0) * order ** (bright - 0.5)
        size = ops.where(get["soft"] > 0, touched, plucked) * (kept + (1 - kept) * UNDER_FINGER) * get["level"]
        size = size * ops.cast(hz < HIGHEST_HZ, "float32") * ops.exp(uneven * (chance[:, n, 0][:, None, None] - 0.5))
        rate = get["decay"] * (1.0 + 0.6 * (hz / damping_hz) ** 1.6) + get["extra"] * (1.0 + 0.03 * order)
        rate = rate + (1 - kept) * UNDER_FINGER_RATE
        stop_rate = get["damp"] * (1.0 + 0.05 * order)
        beat = ops.cos(2 * np.pi * beat_hz * (0.5 + chance[:, n, 1][:, None, None]) * rows.since)

        def level(since: Array, past: Array) -> Array:
            planes = (1 - plane) * ops.exp(-rate * since) + plane * beat * ops.exp(-0.6 * rate * since)
            return size * planes * ops.exp(-stop_rate * past)

        start, end = level(rows.since, rows.past), level(after, past_after)
        return total + _within(start, end) * ops.sin(2 * np.pi * phase * ops.expand_dims(stretched, -1))

    silent = ops.zeros_like(phase)
    sound = ops.fori_loop(1, PARTIALS + 1, add, silent)
    return sound * _rise(rows)


def sampled(rows: Rows, samples: Array) -> Array:
    """Return recorded notes replayed at the rows' pitches, (batch, rows, ticks, TICK); cubic interpolation."""
    get = {name: rows.strokes[..., k] for name, k in FIELD.items()}
    rate = 2.0 ** ((rows.midi - get["zone_midi"]) / 12)
    rate_end = 2.0 ** ((rows.midi_end - get["zone_midi"]) / 12)
    run = turns((rate - 1.0) * RATE_HZ, (rate_end - 1.0) * RATE_HZ, rows.first)
    inside = ops.arange(TICK, dtype="float32")
    straight = ops.expand_dims(rows.since * RATE_HZ, -1) + inside
    place = ops.expand_dims(get["skip"], -1) + straight + run
    length = ops.expand_dims(get["zone_length"], -1)
    sounding = ops.cast(place < length - 3.0, "float32")
    place = ops.clip(place, 1.0, ops.maximum(length - 3.0, 1.0))
    whole = ops.floor(place)
    part = place - whole
    at = ops.cast(whole, "int32") + ops.expand_dims(ops.cast(get["zone_start"], "int32"), -1)
    before, here, after, far = (ops.cast(ops.take(samples, at + k), "float32") / 32768.0 for k in (-1, 0, 1, 2))
    cubic = here + 0.5 * part * (
        after - before + part * (2 * before - 5 * here + 4 * after - far + part * (3 * (here - after) + far - before))
    )
    fade = get["extra"] * rows.since + get["damp"] * rows.past
    fade_end = fade + ops.where(rows.past > 0, get["damp"], 0.0) * TICK_S + get["extra"] * TICK_S
    size = _within(get["level"] * ops.exp(-fade), get["level"] * ops.exp(-fade_end))
    own_attack = ops.expand_dims(get["rise_s"], -1) <= 1.01 * PICK_RISE_S  # a recorded pick has its own
    return cubic * sounding * size * ops.where(own_attack, 1.0, _rise(rows))


def heard_twice(sound: Array, gain: Array, delay: Array) -> Array:
    """Return strings heard at two places and mixed, (batch, rows, samples): partials wax and wane with the fret.

    ``gain`` (batch,) of the second place, 0 for none; ``delay`` (batch, strings) in samples, the same at every fret.
    Rows beyond the strings stay as they are.
    """
    count, strings = sound.shape[2], delay.shape[1]
    place = np.arange(count, dtype=np.int32) - ops.cast(delay, "int32")[..., None]
    later = ops.take_along_axis(sound[:, :strings], ops.maximum(place, 0), axis=2) * ops.cast(place >= 0, "float32")
    mixed = (sound[:, :strings] + gain[:, None, None] * later) / (1.0 + ops.abs(gain))[:, None, None]
    return ops.concatenate([mixed, sound[:, strings:]], axis=1)


def _rise(rows: Rows) -> Array:
    inside = ops.arange(TICK, dtype="float32") / RATE_HZ
    since = ops.expand_dims(rows.since, -1) + inside
    rise_s = ops.maximum(ops.expand_dims(rows.strokes[..., FIELD["rise_s"]], -1), 1e-4)
    return ops.minimum(since / rise_s, 1.0)


def touch_noise(rows: Rows, length_s: Array) -> Array:
    """Return the envelope of pick and finger noise, (batch, samples); ``length_s`` (batch,) is a pick's fade."""
    get = {name: rows.strokes[..., k] for name, k in FIELD.items()}
    inside = ops.arange(TICK, dtype="float32") / RATE_HZ
    since = ops.expand_dims(rows.since, -1) + inside
    past = ops.expand_dims(rows.past, -1) + inside
    pick = ops.expand_dims(get["level"] * get["pick_noise"], -1) * ops.exp(-since / length_s[:, None, None, None])
    stopped = ops.cast(ops.expand_dims(rows.past, -1) > 0, "float32")
    stop = ops.expand_dims(get["level"] * get["stop_noise"], -1) * ops.exp(-past / STOP_NOISE_S) * stopped
    total = ops.sum(pick + stop, axis=1)
    return ops.reshape(total, (ops.shape(total)[0], -1))


def play(
    index: Array,
    strokes: Array,
    bend: Array,
    scene: dict[str, Array],
    samples: Array,
    *,
    modal_clips: int,
) -> Heard:
    """Return the rows' sounds; the first ``modal_clips`` of the batch on the string model, the others recorded."""
    rows = rows_of(index, strokes, bend)
    part = lambda rows, clips, which: Rows(*(x[clips, which] for x in rows))  # noqa: E731
    made, kept = slice(0, modal_clips), slice(modal_clips, None)
    strings, noises = slice(0, STRINGS), slice(STRINGS, None)
    pieces = []
    if modal_clips:
        string_sound = modal(part(rows, made, strings), scene["guitar"][made], scene["chance"][made])
        noise_sound = sampled(part(rows, made, noises), samples)
        pieces.append(ops.concatenate([string_sound, noise_sound], axis=1))
    if modal_clips < index.shape[0]:
        pieces.append(sampled(Rows(*(x[kept] for x in rows)), samples))
    sound = pieces[0] if len(pieces) == 1 else ops.concatenate(pieces, axis=0)
    held = ops.cast(ops.logical_and(index > 0, rows.past <= 0), "float32") * rows.strokes[..., FIELD["is_note"]]
    flat = ops.reshape(sound, (ops.shape(sound)[0], sound.shape[1], -1))
    flat = heard_twice(flat, scene["second_gain"], scene["second_delay"])
    # the string model plays a harmonic from its open string; what sounds is the partial
    raised = 12.0 * ops.log(ops.maximum(rows.strokes[..., FIELD["harmonic"]], 1.0)) / np.log(2.0)
    sounding = rows.midi + raised
    return Heard(flat, touch_noise(rows, scene["noise_fade_s"]), sounding[:, strings], held[:, strings])
