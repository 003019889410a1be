"""Tones, plucked tones, glides, bends and vibrato whose pitch is known by formula.

Every maker of pitch returns hertz a sample, so that a test can ask for the true pitch at any moment:
``true_hz[int(t * rate_hz)]``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording

Floats = NDArray[np.float64]
RATE_HZ = 22050


def times_s(seconds: float, rate_hz: int = RATE_HZ) -> Floats:
    """Return the time of each sample, shape (n_samples,)."""
    return np.arange(round(seconds * rate_hz)) / rate_hz


def hz(midi: float, cents: float = 0.0) -> float:
    """Return 440 * 2^((midi - 69) / 12), some cents away."""
    return 440.0 * 2.0 ** ((midi - 69 + cents / 100) / 12)


def steady(pitch_hz: float, seconds: float, rate_hz: int = RATE_HZ) -> Floats:
    """Return one pitch held, hertz a sample."""
    return np.full(times_s(seconds, rate_hz).size, float(pitch_hz))


def glide(start_hz: float, end_hz: float, seconds: float, rate_hz: int = RATE_HZ) -> Floats:
    """Return an exponential glide (equal cents each second), hertz a sample."""
    t = times_s(seconds, rate_hz)
    return start_hz * (end_hz / start_hz) ** (t / seconds)


def bend(
    pitch_hz: float, cents: float, seconds: float, *, start_s: float, reach_s: float, rate_hz: int = RATE_HZ
) -> Floats:
    """Return a pitch pushed up by ``cents`` along a half cosine from ``start_s`` to ``reach_s``, then held."""
    t = times_s(seconds, rate_hz)
    done = np.clip((t - start_s) / (reach_s - start_s), 0.0, 1.0)
    return pitch_hz * 2.0 ** (cents * (0.5 - 0.5 * np.cos(np.pi * done)) / 1200)


def bend_and_release(
    pitch_hz: float,
    cents: float,
    seconds: float,
    *,
    start_s: float,
    reach_s: float,
    leave_s: float,
    back_s: float,
    rate_hz: int = RATE_HZ,
) -> Floats:
    """Return a bend as in ``bend``, let down again from ``leave_s`` to ``back_s``, hertz a sample."""
    up = bend(pitch_hz, cents, seconds, start_s=start_s, reach_s=reach_s, rate_hz=rate_hz)
    down = bend(1.0, -cents, seconds, start_s=leave_s, reach_s=back_s, rate_hz=rate_hz)
    return up * down


def vibrato(
    pitch_hz: float,
    extent_cents: float,
    rate_of_wave_hz: float,
    seconds: float,
    *,
    start_s: float = 0.0,
    rate_hz: int = RATE_HZ,
) -> Floats:
    """Return a pitch with a sine wave of ``extent_cents`` (middle to top) from ``start_s`` on, hertz a sample."""
    t = times_s(seconds, rate_hz)
    wave = np.where(t >= start_s, np.sin(2 * np.pi * rate_of_wave_hz * (t - start_s)), 0.0)
    return pitch_hz * 2.0 ** (extent_cents * wave / 1200)


def tone(pitch_hz: Floats, *, rate_hz: int = RATE_HZ, level: float = 0.5) -> Floats:
    """Return a sine that follows ``pitch_hz`` (hertz a sample), shape as given, peak ``level``."""
    return level * np.sin(2 * np.pi * (np.cumsum(pitch_hz) - pitch_hz) / rate_hz)


def plucked(
    pitch_hz: Floats,
    *,
    stretch: float = 0.0,
    partials: int = 30,
    pick_position: float = 0.13,
    decay_s: float = 3.0,
    rate_hz: int = RATE_HZ,
    level: float = 0.5,
    phase_seed: int | None = 0,
) -> Floats:
    """Return a decaying tone with partials at n f sqrt(1 + stretch n^2), shape as ``pitch_hz``, peak ``level``.

    ``pitch_hz`` is the f of that formula, hertz a sample (H. Fletcher, "Normal Vibration Frequencies of a Stiff
    Piano String", J. Acoust. Soc. Am. 36, 1964). Partial n starts at sin(pi n pick_position) / n and falls by
    60 dB in ``decay_s / (1 + 0.15 (n - 1))`` seconds. ``phase_seed`` None: all start at phase 0.
    """
    t = np.arange(pitch_hz.size) / rate_hz
    turns = (np.cumsum(pitch_hz) - pitch_hz) / rate_hz
    phases = np.zeros(partials) if phase_seed is None else np.random.default_rng(phase_seed).uniform(0, 1, partials)
    out = np.zeros(pitch_hz.size)
    for n in range(1, partials + 1):
        ratio = n * np.sqrt(1 + stretch * n * n)
        if pitch_hz.max() * ratio >= 0.47 * rate_hz:
            break
        size = np.sin(np.pi * n * pick_position) / n * 10.0 ** (-3.0 * t * (1 + 0.15 * (n - 1)) / decay_s)
        out += size * np.sin(2 * np.pi * (ratio * turns + phases[n - 1]))
    attack = np.minimum(1.0, t / 0.002)
    out *= attack
    return level * out / np.abs(out).max()


def placed(*events: tuple[float, Floats], seconds: float, rate_hz: int = RATE_HZ) -> Floats:
    """Return silence of ``seconds`` with each (time in seconds, samples) added at its time, cut at the end."""
    out = np.zeros(round(seconds * rate_hz))
    for start_s, samples in events:
        first = round(start_s * rate_hz)
        part = samples[: max(0, out.size - first)]
        out[first : first + part.size] += part
    return out


def in_noise(samples: Floats, snr_db: float, *, seed: int = 0) -> Floats:
    """Return the samples with white noise ``snr_db`` below their own mean power."""
    noise = np.random.default_rng(seed).standard_normal(samples.size)
    return samples + noise * np.sqrt(np.mean(samples**2)) * 10 ** (-snr_db / 20)


def recording(samples: Floats, rate_hz: int = RATE_HZ) -> Recording:
    """Return the samples as a Recording that starts at 0 s."""
    return Recording(np.ascontiguousarray(samples, dtype=np.float32), rate_hz)
