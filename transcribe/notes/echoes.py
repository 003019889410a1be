"""A delay effect's repeats told from picks: always the same time later, always weaker.

The sound of a take with a delay resembles itself at one lag to the sample, whatever is played; a repeated phrase never
does. The autocorrelation of the sound with its spectrum made flat shows that lag as one narrow peak (B. P. Bogert,
M. J. R. Healy and J. W. Tukey, "The Quefrency Alanysis of Time Series for Echoes", 1963, is the same idea).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.once import once
from transcribe.audio.recording import Recording
from transcribe.notes.attack import Envelope, Strike
from transcribe.settings import NoteSettings

RATE_HZ = 11025
LONGEST_S = 60.0  # of sound looked at
FLATTEN_HZ = 60.0  # width over which the spectrum is made flat
BAND_HZ = (300.0, 5000.0)


@once
def delay_s(recording: Recording, settings: NoteSettings) -> float | None:
    """Return the time between a sound and its repeat, in seconds; None when the take has no delay effect."""
    import soxr

    sound = soxr.resample(recording.samples[: int(LONGEST_S * recording.rate_hz)], recording.rate_hz, RATE_HZ)
    first, last = (round(lag * RATE_HZ) for lag in (settings.delay_shortest_s, settings.delay_longest_s))
    if sound.size < 2 * last:
        return None
    likeness = np.abs(_flat_autocorrelation(np.asarray(sound, dtype=np.float32), last))[first:last]
    usual = float(np.median(likeness))
    if usual <= 0.0:
        return None
    best = int(likeness.argmax())
    elsewhere = np.abs(np.arange(likeness.size) - best) > 0.005 * RATE_HZ
    second = float(likeness[elsewhere].max())
    plain = likeness[best] > settings.delay_over_usual * usual and likeness[best] > settings.delay_over_second * second
    return (first + best) / RATE_HZ if plain else None


def _flat_autocorrelation(sound: NDArray[np.float32], longest: int) -> NDArray[np.float32]:
    """The autocorrelation of the sound made flat; silence is added for lags up to ``longest``, further ones wrap."""
    n_fft = _fast_length(sound.size + longest)
    spectrum = np.fft.rfft(sound, n_fft)
    power = np.square(spectrum.real, dtype=np.float64) + np.square(spectrum.imag, dtype=np.float64)
    half = max(2, round(FLATTEN_HZ * n_fft / RATE_HZ))
    sums = np.cumsum(np.pad(power, (half, half), mode="edge"))
    smooth = (sums[2 * half :] - sums[: -2 * half])[: power.size] / (2 * half)
    inside = slice(*(int(np.ceil(hz * n_fft / RATE_HZ)) for hz in BAND_HZ))
    flat = np.minimum(power[inside] / np.maximum(smooth[inside], 1e-7 * smooth.max() + 1e-30), 20.0)
    kept = np.zeros(power.size, dtype=np.float32)
    kept[inside] = flat - flat.mean()
    return np.asarray(np.fft.irfft(kept, n_fft), dtype=np.float32)


def _fast_length(least: int) -> int:
    """The smallest length from ``least`` on of the factors 2, 3 and 5 alone, which a Fourier transform is fast at."""
    odd = (3**threes * 5**fives for threes in range(9) for fives in range(6))
    return min(factor << max(0, (-(-least // factor) - 1).bit_length()) for factor in odd)


def without_echoes(
    strikes: tuple[Strike, ...], lag_s: float | None, loudness: Envelope, settings: NoteSettings
) -> tuple[Strike, ...]:
    """Return the strikes that no earlier strike explains: at the lag of the delay, and clearly weaker than it."""
    if lag_s is None:
        return strikes

    def burst_db(strike: Strike) -> float:
        return float(loudness.span(loudness.high_db, strike.time_s - 0.01, strike.time_s + 0.03).max())

    def echoes(strike: Strike) -> bool:
        return any(
            abs(strike.time_s - earlier.time_s - lag_s) < settings.echo_within_s
            and burst_db(strike) < burst_db(earlier) - settings.echo_weaker_db
            for earlier in strikes
            if earlier.time_s < strike.time_s
        )

    return tuple(strike for strike in strikes if not echoes(strike))
