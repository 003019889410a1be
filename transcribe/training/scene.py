"""Where and how the playing is recorded: bodies, free strings, amplifiers, effects, rooms, phones, hum, talk.

Turns the dry rows of a batch into what a microphone hears, on whatever Keras runs on; ``scene_numbers.draw`` made the
numbers. Filters work on whole clips in the frequency domain. Reverberation is exponentially dying noise (J. Moorer,
Computer Music Journal 3(2), 1979).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from keras import ops
from numpy.typing import NDArray

from transcribe.training.note_bank import RATE_HZ
from transcribe.training.scene_numbers import GRAINS, HUM_HARMONICS
from transcribe.training.sheet import CLIP_SAMPLES

Array = Any

FFT = 163840  # samples: a clip and 3 s of tails; 2^15 x 5
HZ = np.fft.rfftfreq(FFT, 1 / RATE_HZ).astype(np.float32)
OCTAVE = np.log2(np.maximum(HZ, 20.0)).astype(np.float32)
IMPULSE = 16384  # samples of body and sympathetic strings: 0.74 s
TAIL = 49152  # samples of a room: 2.2 s


def grains() -> NDArray[np.float32]:
    """Return the white noise all clips draw from, shape (GRAINS,), always the same."""
    return np.random.default_rng(1).standard_normal(GRAINS).astype(np.float32)


def white(noise: Array, at: Array, count: int) -> Array:
    """Return each clip's stretch of noise, (batch, count), from its place ``at`` (batch,)."""
    place = ops.cast(at, "int32")[:, None] + np.arange(count, dtype=np.int32)
    return ops.take(noise, ops.mod(place, GRAINS))


def record(dry: Array, touches: Array, scene: dict[str, Array], noise: Array) -> Array:
    """Return the recorded clips, (batch, samples).

    ``dry`` and ``touches``, the envelope of pick and finger noise, have that shape; ``noise`` is that of ``grains``.
    """
    scratch = white(noise, scene["grain"][:, 0], CLIP_SAMPLES) * touches
    tilted = filtered(scratch, tilt_of(scene["noise_tilt"]))
    thump = scene["thump"][:, None] * scratch
    impulse = body_impulse(scene)
    body_re, body_im = spectrum(impulse)
    dry_re, dry_im = spectrum(dry + tilted)
    push_re, push_im = spectrum(dry + tilted + thump)
    more_re, more_im = times(push_re, push_im, body_re, body_im)
    shape = equaliser(scene)
    re, im = (dry_re + more_re) * shape, (dry_im + more_im) * shape
    sound = moving(driven(re, im, scene), scene)
    sound = in_room(sound, scene, noise)
    sound = compressed(sound, scene["compress"]) * 10 ** (curve(scene["swell_db"]) / 20)
    loud = ops.maximum(ops.max(ops.abs(sound), axis=1, keepdims=True), 1e-4)
    sound = sound / loud + strange_sounds(scene, noise)
    return ops.clip(sound, -1.05, 1.05) * scene["level"][:, None]


def spectrum(x: Array) -> tuple[Array, Array]:
    """Return real and imaginary parts of the transform of zero-padded clips."""
    return ops.rfft(x, fft_length=FFT)


def clip_of(re: Array, im: Array) -> Array:
    """Return the clips of a spectrum, tails cut off."""
    return ops.irfft((re, im), fft_length=FFT)[:, :CLIP_SAMPLES]


def times(re: Array, im: Array, by_re: Array, by_im: Array) -> tuple[Array, Array]:
    """Return the product of two spectra."""
    return re * by_re - im * by_im, re * by_im + im * by_re


def filtered(x: Array, gain: Array) -> Array:
    """Return clips through a real gain over HZ."""
    re, im = spectrum(x)
    return clip_of(re * gain, im * gain)


def tilt_of(power: Array) -> Array:
    """Return a gain over HZ that follows a power of frequency, 1 at 1 kHz; ``power`` (batch,)."""
    return ops.exp(power[:, None] * ops.log(ops.convert_to_tensor(np.maximum(HZ, 30.0) / 1000.0)))


def body_impulse(scene: dict[str, Array]) -> Array:
    """Return the sum of ringing modes of the box and of free strings, (batch, IMPULSE)."""
    t = ops.arange(IMPULSE, dtype="float32") / RATE_HZ
    hz = ops.concatenate([scene["body_hz"], scene["sympathy_hz"]], axis=1)[..., None]
    lives = ops.concatenate([scene["body_s"], ops.ones_like(scene["sympathy_hz"]) * 1.6], axis=1)[..., None]
    gain = ops.concatenate([scene["body_gain"] * 0.02, scene["sympathy_gain"] * 0.02], axis=1)[..., None]
    fade = ops.minimum(1.0, (IMPULSE / RATE_HZ - t) / 0.1)
    return ops.sum(gain * ops.sin(2 * np.pi * hz * t) * ops.exp(-6.9 * t / lives), axis=1) * fade


def equaliser(scene: dict[str, Array]) -> Array:
    """Return the gain of bumps, tilt and band limits, (batch, frequencies)."""
    total = bumps_db(scene, "bump") + scene["tilt_db"][:, None] * (OCTAVE - np.log2(500.0))
    ratio = HZ / scene["low_pass_hz"][:, None]
    floor = scene["high_pass_hz"][:, None] / np.maximum(HZ, 1.0)
    return 10 ** (ops.clip(total, -30.0, 18.0) / 20) / ops.sqrt((1 + ratio**6) * (1 + floor**4))


def bumps_db(scene: dict[str, Array], name: str) -> Array:
    """Return the sum of the scene's bell-shaped bumps of that name in dB, (batch, frequencies)."""
    away = (OCTAVE - ops.log(scene[f"{name}_hz"])[..., None] / np.log(2.0)) / scene[f"{name}_octaves"][..., None]
    return ops.sum(scene[f"{name}_db"][..., None] * ops.exp(-0.5 * away**2), axis=1)


def driven(re: Array, im: Array, scene: dict[str, Array]) -> Array:
    """Return the sound through a clip, soft to hard, a tone stack and a loudspeaker; clean where the drive is 0."""
    clean = clip_of(re, im)
    ratio = scene["tight_hz"][:, None] / np.maximum(HZ, 1.0)
    tight = 1.0 / ops.sqrt(1 + ratio**2)
    re, im = re * tight, im * tight
    twice = ops.irfft((ops.pad(re, [[0, 0], [0, FFT // 2]]), ops.pad(im, [[0, 0], [0, FFT // 2]])), fft_length=2 * FFT)
    size = ops.sqrt(ops.mean(twice**2, axis=1, keepdims=True)) + 1e-5
    lean = scene["lean"][:, None]
    loud, hard = scene["drive"][:, None] * twice / (2 * size) + lean, scene["hard"][:, None]
    at_rest = (1 - hard) * ops.tanh(lean) + hard * lean
    pushed = (1 - hard) * ops.tanh(loud) + hard * ops.clip(loud, -1.0, 1.0) - at_rest
    out_re, out_im = ops.rfft(pushed, fft_length=2 * FFT)
    half = FFT // 2 + 1
    cabinet = 1.0 / ops.sqrt(1 + (HZ / scene["cabinet_hz"][:, None]) ** 8)
    cabinet = cabinet * 10 ** (ops.clip(bumps_db(scene, "amplifier"), -24.0, 15.0) / 20)
    dirty = clip_of(out_re[:, :half] * cabinet, out_im[:, :half] * cabinet)
    return ops.where(scene["drive"][:, None] > 0, dirty, clean)


def moving(x: Array, scene: dict[str, Array]) -> Array:
    """Return the sound through a chorus, a copy whose delay sways, and a tremolo, a level that does."""
    get = {name: scene[name][:, None] for name in ("chorus_gain", "chorus_s", "chorus_hz", "tremolo", "tremolo_hz")}
    t = ops.arange(CLIP_SAMPLES, dtype="float32") / RATE_HZ
    late = RATE_HZ * get["chorus_s"] * (1.0 + 0.3 * ops.sin(2 * np.pi * get["chorus_hz"] * t))
    whole = ops.floor(late)
    place = np.arange(CLIP_SAMPLES, dtype=np.int32) - ops.cast(whole, "int32")
    here, before = (
        ops.take_along_axis(x, ops.maximum(at, 0), axis=1) * ops.cast(at >= 0, "float32") for at in (place, place - 1)
    )
    x = (x + get["chorus_gain"] * (here + (late - whole) * (before - here))) / (1.0 + get["chorus_gain"])
    return x * (1.0 - 0.5 * get["tremolo"] * (1.0 - ops.cos(2 * np.pi * get["tremolo_hz"] * t)))


def in_room(x: Array, scene: dict[str, Array], noise: Array) -> Array:
    """Return the sound with a delay's repeats and a room behind it."""
    turn = 2 * np.pi * HZ * scene["echo_s"][:, None]
    dull = 1.0 / ops.sqrt(1 + (HZ / scene["echo_hz"][:, None]) ** 2)
    c, s = ops.cos(turn), -ops.sin(turn)
    again = scene["echo_again"][:, None] * dull
    # one repeat after another: g e^(-iwD) / (1 - a e^(-iwD))
    below_re, below_im = 1 - again * c, -again * s
    power = below_re**2 + below_im**2
    gain = scene["echo_gain"][:, None] * dull
    echo_re = 1 + gain * (c * below_re + s * below_im) / power
    echo_im = gain * (s * below_re - c * below_im) / power
    t = ops.arange(TAIL, dtype="float32") / RATE_HZ
    tail = white(noise, scene["grain"][:, 1], TAIL) * 10 ** (-3 * t / scene["room_s"][:, None])
    tail = tail * ops.cast(t > 0.004, "float32") * ops.minimum(1.0, (TAIL / RATE_HZ - t) / 0.1)
    tail = tail * scene["room_gain"][:, None] / ops.sqrt(ops.sum(tail**2, axis=1, keepdims=True) + 1e-9)
    room_re, room_im = spectrum(tail)
    room_re = room_re + 1.0
    re, im = times(*times(*spectrum(x), echo_re, echo_im), room_re, room_im)
    return clip_of(re, im)


def compressed(x: Array, amount: Array) -> Array:
    """Return clips whose loud and soft moments are brought nearer: level to the power of 1 - amount."""
    size = ops.sqrt(ops.mean(ops.reshape(x, (ops.shape(x)[0], -1, 1024)) ** 2, axis=2)) + 1e-6
    loudest = ops.max(size, axis=1, keepdims=True)
    gain = (ops.maximum(size, 0.01 * loudest) / loudest) ** (-amount[:, None])
    return x * curve(gain)


def curve(points: Array) -> Array:
    """Return a straight-line curve over the clip through evenly spaced points, (batch, samples)."""
    count = points.shape[1]
    place = np.linspace(0, count - 1.001, CLIP_SAMPLES)
    whole, part = np.floor(place).astype(np.int32), (place % 1).astype(np.float32)
    return ops.take(points, whole, axis=1) * (1 - part) + ops.take(points, whole + 1, axis=1) * part


def strange_sounds(scene: dict[str, Array], noise: Array) -> Array:
    """Return hiss, hum, talk-like sound and clicks, against a full scale of 1."""
    batch = ops.shape(scene["level"])[0]
    t = ops.arange(CLIP_SAMPLES, dtype="float32") / RATE_HZ

    def gain(name: str) -> Array:
        return 10 ** (scene[name][:, None] / 20)

    steady = white(noise, scene["grain"][:, 2], CLIP_SAMPLES)
    hiss = unit(filtered(steady, tilt_of(scene["hiss_tilt"])))
    hum = ops.zeros((batch, CLIP_SAMPLES))
    for n in range(HUM_HARMONICS):
        hum = hum + scene["hum_shape"][:, n : n + 1] * ops.sin(2 * np.pi * (n + 1) * scene["hum_hz"][:, None] * t)
    voice_turns = ops.cumsum(curve(scene["talk_pitch"]), axis=1) / RATE_HZ
    buzz = ops.exp(-8.0 * (voice_turns - ops.floor(voice_turns))) + 0.1 * steady
    width = 0.12 * scene["formant_hz"] + 40
    mouth = ops.sum(ops.exp(-0.5 * ((HZ - scene["formant_hz"][..., None]) / width[..., None]) ** 2), axis=1)
    talk = unit(filtered(buzz * curve(scene["talk_level"]), mouth * ops.cast(HZ > 60, "float32")))
    rare = white(noise, scene["grain"][:, 3], CLIP_SAMPLES)
    clicks = 0.1 * rare * ops.cast(ops.abs(rare) > 3.9, "float32")
    talk_gain = ops.where(scene["talk_db"][:, None] > -119, gain("talk_db"), 0.0)
    return (
        hiss * gain("hiss_db") * 0.2
        + unit(hum) * gain("hum_db") * 0.2
        + talk * talk_gain * 0.3
        + clicks * gain("click_db")
    )


def unit(x: Array) -> Array:
    """Return clips scaled to a root mean square of 1."""
    return x / (ops.sqrt(ops.mean(x**2, axis=1, keepdims=True)) + 1e-6)
