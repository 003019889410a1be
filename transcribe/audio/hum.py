"""Mains hum and rumble: found only where it is really there, taken out without touching the notes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.settings import AudioSettings

LOW_RATE_HZ = 2000  # everything here happens below 1 kHz
WINDOW_S = 0.5  # short enough for the rests of a lick
TOP_HZ = 760.0  # over the twelfth harmonic of 60 Hz and its surroundings
BIN_HZ = 0.25  # spacing of the spectrum after zero padding
LINE_HALF_WIDTH_HZ = 0.4  # grids hold their frequency within 0.2 Hz, and the peak is read to a bin
BELOW_GUITAR_HZ = 75.0  # under the low E (82.4 Hz) a line is no note
DRONE_DB = 2.0  # among the notes, only a line as steady as this is hum: a string dies away by several dB a second
SHORTEST_TAKE_S = 2.0  # in less, a steady hum and a held note look alike
SMOOTH_S = 2.0  # over which the hum is taken to keep its strength


@dataclass(frozen=True, slots=True, eq=False)
class Hum:
    """A mains hum as it sounds in the take."""

    mains_hz: float
    lines_hz: tuple[float, ...]
    samples: NDArray[np.float32]  # to be subtracted; same shape as the take
    level_db: float  # against the loudest half second of the take


def find_hum(samples: NDArray[np.float32], rate_hz: int, *, settings: AudioSettings) -> Hum | None:
    """Return the mains hum in a take, or None when there is none worth removing.

    The gate is a line at the mains frequency itself, below every note of a guitar, that is as strong in the quietest
    stretches as in the others. Its overtones are taken one by one, each only if it stands steadily in the quietest
    stretches. Each line is followed by demodulation: shifted to 0 Hz and averaged over two seconds, every moment
    weighted by how quiet the take is, so that a ringing note at the same frequency is left alone.
    """
    if samples.size < SHORTEST_TAKE_S * rate_hz:
        return None
    import soxr

    low = soxr.resample(samples, rate_hz, LOW_RATE_HZ).astype(np.float64)
    windows = _Windows(low)
    for mains_hz in settings.mains_hz:
        if not windows.holds_line(mains_hz, settings, everywhere=True):
            continue
        multiples = [mains_hz * k for k in range(1, settings.mains_harmonics + 1)]
        lines = [f for f in multiples if windows.holds_line(f, settings)]
        hum = _follow(low, [windows.exact_hz(f) for f in lines])
        level_db = 10 * np.log10(np.mean(hum**2) / windows.power.max() + 1e-20)
        back = soxr.resample(hum, LOW_RATE_HZ, rate_hz).astype(np.float32)
        return Hum(mains_hz, tuple(lines), np.resize(np.pad(back, (0, rate_hz)), samples.size), float(level_db))
    return None


def remove_rumble(samples: NDArray[np.float32], rate_hz: int, *, settings: AudioSettings) -> NDArray[np.float32] | None:
    """Return the take without what lies far below a guitar, or None when too little lies there to matter.

    Butterworth high-pass of order 2 run both ways, so no onset moves in time.
    """
    import soxr

    if samples.size < rate_hz // 4:
        return None
    low = soxr.resample(samples, rate_hz, LOW_RATE_HZ).astype(np.float64)
    power = np.abs(np.fft.rfft(low * np.hanning(low.size))) ** 2
    below = np.fft.rfftfreq(low.size, 1 / LOW_RATE_HZ) < settings.rumble_below_hz
    total = float(np.dot(samples, samples)) / samples.size
    share = power[below].sum() / max(power.sum(), 1e-20) * np.mean(low**2) / max(total, 1e-20)
    if share < settings.rumble_share:
        return None
    from scipy import signal  # late: half a second that most takes never need

    sos = signal.butter(2, 1.3 * settings.rumble_below_hz, "highpass", fs=rate_hz, output="sos")
    padding = min(samples.size - 1, rate_hz // 4)
    return np.asarray(signal.sosfiltfilt(sos, samples.astype(np.float64), padlen=padding), dtype=np.float32)


class _Windows:
    """Half-second spectra of the take, and which of them are quiet."""

    def __init__(self, low: NDArray[np.float64]) -> None:
        n = round(WINDOW_S * LOW_RATE_HZ)
        frames = np.lib.stride_tricks.sliding_window_view(low, n)[:: n // 2]
        shape = np.hanning(n)
        n_fft = round(LOW_RATE_HZ / BIN_HZ)
        level_db = np.empty((len(frames), round(TOP_HZ / BIN_HZ)), np.float32)  # of a sine, re amplitude 1
        for row, frame in zip(level_db, frames, strict=True):  # one by one: a long take has thousands
            spectrum = np.abs(np.fft.rfft(frame * shape, n_fft))[: row.size]
            row[:] = 20 * np.log10(spectrum * 2 / shape.sum() + 1e-9)
        self.level_db = level_db
        self.power = np.einsum("ij,ij->i", frames, frames) / n
        order = np.argsort(self.power)
        self.quiet = order[: max(2, len(order) // 4)]

    def holds_line(self, line_hz: float, settings: AudioSettings, *, everywhere: bool = False) -> bool:
        """Whether a steady line stands at ``line_hz`` in the quiet stretches (and as strongly in the others)."""
        at = self._bins(line_hz, 0.0, LINE_HALF_WIDTH_HZ)
        beside = np.concatenate([self._bins(line_hz, -9.0, 4.0), self._bins(line_hz, 9.0, 4.0)])
        line = self.level_db[:, at].max(axis=1)
        quiet = self.level_db[self.quiet]
        around = self._bins(line_hz, 0.0, 4.0)
        if abs(around[quiet.mean(axis=0)[around].argmax()] * BIN_HZ - line_hz) > LINE_HALF_WIDTH_HZ:
            return False  # the peak belongs to something else
        stands = np.median(line[self.quiet] - np.median(quiet[:, beside], axis=1)) >= settings.mains_line_db
        below_guitar = line_hz < BELOW_GUITAR_HZ
        steady = np.ptp(line[self.quiet]) <= (settings.mains_steady_db if below_guitar else DRONE_DB)
        heard = np.median(line[self.quiet]) >= 10 * np.log10(2 * self.power.max() + 1e-20) + settings.mains_audible_db
        same = abs(np.median(line) - np.median(line[self.quiet])) <= settings.mains_steady_db
        return bool(stands and steady and heard and (same or not everywhere))

    def exact_hz(self, line_hz: float) -> float:
        """Return the line's own frequency, from a parabola through its peak in the quiet stretches."""
        mean = self.level_db[self.quiet].mean(axis=0)
        at = self._bins(line_hz, 0.0, LINE_HALF_WIDTH_HZ)
        k = int(at[mean[at].argmax()])
        a, b, c = mean[k - 1], mean[k], mean[k + 1]
        bend = a - 2 * b + c
        return BIN_HZ * (k + (0.5 * (a - c) / bend if bend < 0 else 0.0))

    def _bins(self, centre_hz: float, offset_hz: float, half_width_hz: float) -> NDArray[np.intp]:
        low = max(1, round((centre_hz + offset_hz - half_width_hz) / BIN_HZ))
        high = min(self.level_db.shape[1] - 2, round((centre_hz + offset_hz + half_width_hz) / BIN_HZ))
        return np.arange(low, high + 1)


def _follow(low: NDArray[np.float64], lines_hz: list[float]) -> NDArray[np.float64]:
    """Return the sum of the lines as they sound, shape of ``low``."""
    from scipy import signal

    time_s = np.arange(low.size) / LOW_RATE_HZ
    block = np.hanning(round(0.1 * LOW_RATE_HZ) + 2)
    power = np.maximum(signal.oaconvolve(low**2, block / block.sum(), mode="same"), 0.0)
    quietness = 1.0 / (power + 1e-3 * power.max() + 1e-20)
    n_smooth = min(round(SMOOTH_S * LOW_RATE_HZ), low.size) | 1
    smooth = np.hanning(n_smooth + 2)
    weight = signal.oaconvolve(quietness, smooth, mode="full")[n_smooth // 2 + 1 :][: low.size]
    hum = np.zeros_like(low)
    for line_hz in lines_hz:
        turn = np.exp(-2j * np.pi * line_hz * time_s)
        shifted = signal.oaconvolve(quietness * low * turn, smooth, mode="full")[n_smooth // 2 + 1 :][: low.size]
        hum += 2 * np.real(shifted / weight * np.conj(turn))
    return hum
