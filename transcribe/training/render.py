"""A performance on a guitar made of numbers: strings, body or coil, drive, room, noise."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.training.guitars import Guitar
from transcribe.training.perform import CONTACT_S, Performance
from transcribe.training.strings import pluck

Floats = NDArray[np.float64]
PEAK = 0.7  # of full scale, after everything


def render(performance: Performance, guitar: Guitar, *, rate_hz: int = 44100, seed: int = 0) -> NDArray[np.float32]:
    """Return the whole take, shape (n_samples,), mono, peak 0.7 of full scale; the same for the same seed."""
    rng = np.random.default_rng([seed, 7])
    mix = np.zeros(int(performance.end_s * rate_hz))
    noise = np.zeros_like(mix)
    for number, chain in enumerate(performance.chains):
        tone, touches = pluck(performance.lick, guitar, chain, rate_hz=rate_hz, seed=seed * 1000 + number)
        first = round(chain.notes[0].onset_s * rate_hz)
        part = min(tone.size, mix.size - first)
        mix[first : first + part] += tone[:part]
        noise[first : first + part] += touches[:part]
        if chain.cut_by_pick:  # the click of the pick coming to rest on the sounding string
            _click(noise, (chain.notes[-1].offset_s + 0.2 * CONTACT_S) * rate_hz, 0.02 * np.abs(tone).max(), rng)
    wet = _through_body(mix + noise, guitar, rate_hz)
    wet /= float(np.abs(wet).max())
    if guitar.drive:
        wet = np.tanh(guitar.drive * wet) / np.tanh(guitar.drive)
    wet = _in_room(_low_pass(wet, guitar.low_pass_hz, guitar.low_pass_q, rate_hz), guitar, rate_hz, rng)
    wet *= PEAK / np.abs(wet).max()
    return (wet + rng.standard_normal(wet.size) * 10 ** (guitar.noise_db / 20)).astype(np.float32)


def _click(out: Floats, at: float, peak: float, rng: np.random.Generator) -> None:
    first = int(at)
    part = out[first : first + 40]
    part += peak * rng.standard_normal(part.size) * np.exp(-np.arange(part.size) / 12.0)


def _through_body(samples: Floats, guitar: Guitar, rate_hz: int) -> Floats:
    """Return the sound with the body's modes beside the direct sound."""
    from scipy.signal import iirpeak, lfilter

    out = guitar.direct * samples
    for mode in guitar.body:
        b, a = iirpeak(mode.hz, mode.q, fs=rate_hz)
        out = out + mode.gain * lfilter(b, a, samples)
    return out


def _low_pass(samples: Floats, corner_hz: float, q: float, rate_hz: int) -> Floats:
    """Return the sound through a second-order low-pass (R. Bristow-Johnson's audio equaliser formulas)."""
    from scipy.signal import lfilter

    w = 2 * np.pi * corner_hz / rate_hz
    alpha, c = np.sin(w) / (2 * q), np.cos(w)
    b = np.array([(1 - c) / 2, 1 - c, (1 - c) / 2])
    return lfilter(b, [1 + alpha, -2 * c, 1 - alpha], samples)


def _in_room(samples: Floats, guitar: Guitar, rate_hz: int, rng: np.random.Generator) -> Floats:
    """Return the sound with exponentially dying noise behind it (J. Moorer, Computer Music J. 3(2), 1979)."""
    from scipy.signal import fftconvolve

    if guitar.room_s <= 0:
        return samples
    t = np.arange(int(guitar.room_s * rate_hz)) / rate_hz
    tail = rng.standard_normal(t.size) * 10.0 ** (-3.0 * t / guitar.room_s)
    tail[: int(0.006 * rate_hz)] = 0.0
    wet = fftconvolve(samples, tail)[: samples.size]
    loud = float(np.sqrt(np.mean(samples**2) / max(float(np.mean(wet**2)), 1e-20)))
    return samples + wet * loud * 10.0 ** (guitar.room_db / 20)
