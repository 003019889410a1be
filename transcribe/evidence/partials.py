"""Frequencies of a string's partials along a known, moving pitch, and how far stiffness stretches them.

A string's partial n lies at n f sqrt(1 + B n^2), f its pitch without stiffness and B its stretch (H. Fletcher, "Normal
Vibration Frequencies of a Stiff Piano String", J. Acoust. Soc. Am. 36, 1964). Each partial is turned down to rest by
the roughly known pitch, however it moves; what is left turns slowly, and its speed is read from two sums, one with a
window and one with the window's slope (F. Auger and P. Flandrin, "Improving the Readability of Time-Frequency and
Time-Scale Representations by the Reassignment Method", IEEE Trans. Signal Processing 43, 1995). The window is as long
as a whole number of periods, counted along the moving pitch, so that every other partial falls on one of its zeros.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
FRAMES_AT_ONCE = 128  # so that memory stays bounded


@dataclass(frozen=True, slots=True, eq=False)
class Partials:
    """What was read at each frame; column k is partial k + 1."""

    hz: Floats  # (n_frames, n_partials) frequency
    strength: Floats  # (n_frames, n_partials) amplitude, full scale 1.0
    noise: Floats  # (n_frames,) amplitude a partial would seem to have in nothing but the rest of the sound
    harmonicity: Floats  # (n_frames,) share of the sound's power that lies in these partials, 0 to about 1


def hermite(at: Floats, knots: Floats, values: Floats) -> Floats:
    """Return ``values`` at ``knots`` (evenly spaced, rising) drawn through by smooth cubics; ends are held."""
    if knots.size == 1:
        return np.full(at.shape, values[0])
    step = knots[1] - knots[0]
    slope, rise = np.gradient(values), np.diff(values)
    place = np.minimum(np.maximum((at - knots[0]) / step, 0.0), knots.size - 1.0)
    left = np.minimum(place.astype(np.intp), knots.size - 2)
    u = place - left
    bend = 3 * rise - 2 * slope[:-1] - slope[1:]
    twist = slope[:-1] + slope[1:] - 2 * rise
    return np.asarray(values[left] + u * (slope[left] + u * (bend[left] + u * twist[left])))


def read_partials(
    sound: NDArray[np.float32],
    rate_hz: int,
    pitch_hz: Floats,
    centres: NDArray[np.intp],
    *,
    partials: int,
    periods: int,
    shortest_s: float,
) -> Partials:
    """Return the partials around each of ``centres`` (sample numbers), given ``pitch_hz`` a sample, shape as ``sound``.

    The window spans ``periods`` periods, more where that would be shorter than ``shortest_s``. A partial beyond the
    highest frequency of the sound has strength 0.
    """
    turns = np.concatenate(([0.0], np.cumsum(pitch_hz)[:-1])) / rate_hz
    whole = np.maximum(periods, np.ceil(pitch_hz[centres] * shortest_s))
    hz, strength = np.zeros((2, centres.size, partials))
    noise, harmonicity = np.zeros((2, centres.size))
    for first in range(0, centres.size, FRAMES_AT_ONCE):
        some = slice(first, first + FRAMES_AT_ONCE)
        hz[some], strength[some], noise[some], harmonicity[some] = _windowed(
            sound, rate_hz, pitch_hz, turns, centres[some], whole[some], partials
        )
    return Partials(hz, strength, noise, harmonicity)


def _windowed(
    sound: NDArray[np.float32],
    rate_hz: int,
    pitch_hz: Floats,
    turns: Floats,
    centres: NDArray[np.intp],
    whole: Floats,
    partials: int,
) -> tuple[Floats, Floats, Floats, Floats]:
    """Read one group of frames, each under a window of ``whole`` periods.

    With w the angle along the pitch, once round in a window, and v its value at the centre, the window is
    (1 + cos(w - v)) / 2 and its slope goes with sin(w - v). Both are sums of cos w and sin w, which many windows share.
    """
    first = np.searchsorted(turns, turns[centres] - 0.5 * whole, side="right")
    last = np.searchsorted(turns, turns[centres] + 0.5 * whole)
    begin, end = int(first.min()), int(last.max())
    rows = _turned_down(sound[begin:end], turns[begin:end], partials)
    sums = np.empty((centres.size, len(rows), 8), dtype=np.float32)
    for count in sorted(set(whole.tolist())):
        waves = _waves(turns[begin:end] / count, pitch_hz[begin:end])
        for frame in np.flatnonzero(whole == count).tolist():
            here = slice(first[frame] - begin, last[frame] - begin)
            np.matmul(rows[:, here], waves[:, here].T, out=sums[frame])
    a_turn = 2 * np.pi / whole[:, None]
    back = np.exp(-1j * a_turn * turns[centres, None])
    once = (sums[..., 4] + 1j * sums[..., 5]) * back
    windowed = 0.5 * (sums[..., 0] + ((sums[..., 1] + 1j * sums[..., 2]) * back).real)
    sloped = -0.5 * a_turn * once.imag
    twice = ((sums[..., -2:, 6] + 1j * sums[..., -2:, 7]) * back * back).real
    square, power = (0.375 * sums[..., -2:, 3] + 0.5 * once[:, -2:].real + 0.125 * twice).T
    total = windowed[:, -2]
    summed, moved = (each[:, :partials] + 1j * each[:, partials : 2 * partials] for each in (windowed, sloped))
    turning = -np.imag(moved * np.conj(summed)) / np.maximum(np.abs(summed) ** 2, 1e-30)
    middle_hz = np.arange(1, partials + 1) * pitch_hz[centres, None]
    hz = middle_hz + turning / (2 * np.pi)
    strength = 2 * np.abs(summed) / total[:, None] * (middle_hz < 0.45 * rate_hz)
    harmonicity = 0.5 * (strength**2).sum(axis=1) * square / np.maximum(power, 1e-30)
    noise = 2 * np.sqrt(np.maximum(power, 0.0) * np.maximum(1 - harmonicity, 1e-4)) / total
    return hz, strength, noise, harmonicity


def _waves(turned: Floats, pitch_hz: Floats) -> NDArray[np.float32]:
    """What windows and slopes are made of, (8, n_samples): w goes once round with each whole number of ``turned``.

    Pitch times 1, cos w, sin w; its square times 1, cos w, sin w, cos 2w, sin 2w. Sums are taken along the pitch: each
    sample counts for the share of a period that it lasts.
    """
    angle = (2 * np.pi * (turned - np.rint(turned))).astype(np.float32)
    pitch = pitch_hz.astype(np.float32)
    told = np.empty((8, turned.size), dtype=np.float32)
    told[0], cosine, sine = pitch, np.cos(angle), np.sin(angle)
    told[1], told[2] = pitch * cosine, pitch * sine
    told[3:6] = pitch * told[:3]
    told[6], told[7] = told[4] * cosine - told[5] * sine, 2 * told[4] * sine
    return told


def _turned_down(sound: NDArray[np.float32], turns: Floats, partials: int) -> NDArray[np.float32]:
    """The sound with each partial turned down to rest, ones, and the sound's power, (2 * partials + 2, n_samples).

    Real parts of all partials come first, imaginary ones then.
    """
    angle = (-2 * np.pi * (turns - np.rint(turns))).astype(np.float32)
    down = np.empty(sound.size, dtype=np.complex64)
    down.real, down.imag = np.cos(angle), np.sin(angle)
    told = np.empty((2 * partials + 2, sound.size), dtype=np.float32)
    still = sound.astype(np.complex64)
    for n in range(partials):
        still *= down
        told[n], told[partials + n] = still.real, still.imag
    told[-2], told[-1] = 1.0, sound * sound
    return told


def stretched(partials: int, stretch: Floats) -> Floats:
    """Return n sqrt(1 + B n^2) for the first partials, shape (*stretch.shape, partials).

    >>> stretched(2, np.array(0.0)).tolist()
    [1.0, 2.0]
    """
    n = np.arange(1, partials + 1)
    return np.asarray(n * np.sqrt(1.0 + np.asarray(stretch)[..., None] * n * n))


def weights(read: Partials) -> Floats:
    """Return how far each partial may be trusted to tell the pitch, shape as ``read.hz``.

    In white noise the error of a partial's frequency falls with its amplitude, and partial n tells the pitch n times as
    well as its own frequency.
    """
    n = np.arange(1, read.hz.shape[1] + 1)
    clear = np.maximum(read.strength**2 - 4.0 * read.noise[:, None] ** 2, 0.0)
    return np.asarray(n * n * clear)


def fit_stretch(
    read: Partials,
    trust: Floats,
    *,
    usual: float,
    usual_frames: float,
    smooth_frames: int,
    run: NDArray[np.intp],
) -> Floats:
    """Return the stretch B at each frame, shape (n_frames,), 0 to 0.001, from the frames around it taken together.

    ``usual`` is what to expect before anything is read; it counts for ``usual_frames`` frames of clear reading.
    ``run``, shape (n_frames,), counts up where frames of another note begin: they share nothing.
    """
    n2 = np.arange(1, read.hz.shape[1] + 1.0) ** 2
    trust = trust / np.maximum(trust.sum(axis=1, keepdims=True), 1e-30)
    told = np.log(np.maximum(read.hz, 1e-3) / np.sqrt(n2))
    place = np.arange(len(told)) + smooth_frames * run  # frames of one run lie out of the others' reach
    stretch = np.full(read.hz.shape[0], usual)
    for _ in range(3):  # Newton steps: the pull of B on a partial's logarithm is all but a straight line
        straight = 1 + stretch[:, None] * n2
        off = told - 0.5 * np.log(straight)
        off -= _summed(trust, off)[:, None]
        near = trust * (np.abs(off) < 0.03)  # half a semitone away it is another string's partial
        pull = 0.5 * n2 / straight
        pull -= (_summed(near, pull) / np.maximum(near.sum(axis=1), 1e-30))[:, None]
        near *= pull
        said, known = _summed(near, off), _summed(near, pull)
        said, known = (_shared(part, place, smooth_frames) for part in (said, known))
        prior = usual_frames * 10.0  # about what a clear frame of a high, thin note knows
        stretch = stretch + (said + prior * (usual - stretch)) / (known + prior)
        stretch = np.minimum(np.maximum(stretch, 0.0), 1e-3)
    return stretch


def _shared(values: Floats, place: NDArray[np.intp], reach: int) -> Floats:
    """The sums of values at rising places, under a Hann window that falls to nothing just beyond ``reach``."""
    spread = np.zeros(place[-1] + 1)
    spread[place] = values
    return np.asarray(np.convolve(spread, np.hanning(2 * reach + 3)[1:-1], mode="full")[place + reach])


def _summed(weight: Floats, values: Floats) -> Floats:
    """The weighted sum over the partials of each frame, shape (n_frames,)."""
    return np.asarray(np.einsum("fp,fp->f", weight, values))


def fit_pitch(read: Partials, trust: Floats, stretch: Floats) -> tuple[Floats, Floats]:
    """Return the pitch f in hertz and how far the partials disagree about it in cents, each of shape (n_frames,).

    A weighted median, then a weighted mean that fades out partials far from it (Huber's weights). NaN where no partial
    stands out from the noise.
    """
    told = 1200.0 * np.log2(np.maximum(read.hz, 1e-3) / stretched(read.hz.shape[1], stretch))
    order, frames = np.argsort(told, axis=1), np.arange(len(told))
    ranked = trust[frames[:, None], order].cumsum(axis=1)
    middle = (ranked >= 0.5 * ranked[:, -1:]).argmax(axis=1)
    pitch = told[frames, order[frames, middle]]
    total = np.maximum(trust.sum(axis=1), 1e-30)
    for _ in range(3):
        off = np.abs(told - pitch[:, None])
        spread = _summed(trust, np.minimum(off, 50.0)) / total
        bent = trust / np.maximum(off, np.maximum(spread, 0.3)[:, None])
        pitch = _summed(bent, told) / np.maximum(bent.sum(axis=1), 1e-30)
    read_at_all = trust.sum(axis=1) > 0
    return (
        np.where(read_at_all, 2.0 ** (pitch / 1200.0), np.nan),
        np.where(read_at_all, spread, np.nan),
    )
