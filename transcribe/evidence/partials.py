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
    slope = np.gradient(values)
    place = np.clip((at - knots[0]) / step, 0.0, knots.size - 1.0)
    left = np.minimum(place.astype(int), knots.size - 2)
    u = place - left
    v = 1.0 - u
    ends = (1 + 2 * u) * v * v * values[left] + u * u * (3 - 2 * u) * values[left + 1]
    return np.asarray(ends + u * v * (v * slope[left] - u * slope[left + 1]))


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
    reach = np.ceil(0.5 * whole / pitch_hz[centres] * rate_hz * 1.1).astype(int) + 1
    hz, strength = np.zeros((2, centres.size, partials))
    noise, harmonicity = np.zeros((2, centres.size))
    for first in range(0, centres.size, FRAMES_AT_ONCE):
        some = slice(first, first + FRAMES_AT_ONCE)
        hz[some], strength[some], noise[some], harmonicity[some] = _windowed(
            sound, rate_hz, pitch_hz, turns, centres[some], whole[some], int(reach[some].max()), partials
        )
    return Partials(hz, strength, noise, harmonicity)


def _windowed(
    sound: NDArray[np.float32],
    rate_hz: int,
    pitch_hz: Floats,
    turns: Floats,
    centres: NDArray[np.intp],
    whole: Floats,
    reach: int,
    partials: int,
) -> tuple[Floats, Floats, Floats, Floats]:
    """Read one group of frames whose windows all fit into ``reach`` samples on either side."""
    begin, length = int(centres.min()) - reach, 2 * reach + 1
    used = np.clip(np.arange(begin, int(centres.max()) + reach + 1), 0, sound.size - 1)
    at = centres - begin - reach  # first sample of each frame's window among those used

    def framed(values: NDArray[np.floating]) -> NDArray[np.floating]:
        return np.lib.stride_tricks.sliding_window_view(values, length)[at]

    a_sample = 2 * np.pi / whole[:, None]
    angle = ((framed(turns[used]) - turns[centres, None]) * a_sample).astype(np.float32)
    pitch, heard = framed(pitch_hz[used].astype(np.float32)), framed(sound[used])
    # Measured along the pitch: each sample counts for the share of a period that it lasts.
    pitch *= np.abs(angle) < np.pi
    both = np.empty((centres.size, 2, length), dtype=np.float32)
    window, fall = both[:, 0], both[:, 1]
    np.multiply(0.5 + 0.5 * np.cos(angle), pitch, out=window)
    np.multiply(np.sin(angle) * pitch, pitch * (-0.5 * a_sample).astype(np.float32), out=fall)
    total = window.sum(axis=1, dtype=np.float64)
    power = np.square(window * heard).sum(axis=1, dtype=np.float64)
    still = _turned_down(sound[used], turns[used], partials)
    sums = np.empty((centres.size, 2 * partials, 2), dtype=np.float32)
    for frame, first in enumerate(at):
        np.matmul(still[:, first : first + length], both[frame].T, out=sums[frame])
    summed, moved = np.moveaxis(sums[:, :partials] + 1j * sums[:, partials:], 2, 0)
    number = np.arange(1, partials + 1)
    turning = -np.imag(moved * np.conj(summed)) / np.maximum(np.abs(summed) ** 2, 1e-30)
    middle_hz = number * pitch_hz[centres, None]
    hz = middle_hz + turning / (2 * np.pi)
    strength = 2 * np.abs(summed) / total[:, None] * (middle_hz < 0.45 * rate_hz)
    share = 0.5 * (strength**2).sum(axis=1) * np.square(window).sum(axis=1, dtype=np.float64)
    harmonicity = share / np.maximum(power, 1e-30)
    noise = 2 * np.sqrt(power * np.maximum(1 - harmonicity, 1e-4)) / total
    return hz, strength, noise, harmonicity


def _turned_down(sound: NDArray[np.float32], turns: Floats, partials: int) -> NDArray[np.float32]:
    """The sound with each partial turned down to rest, real parts then imaginary ones, (2 * partials, n_samples)."""
    angle = (-2 * np.pi * (turns - np.round(turns))).astype(np.float32)
    down = np.empty(sound.size, dtype=np.complex64)
    down.real, down.imag = np.cos(angle), np.sin(angle)
    told = np.empty((2 * partials, sound.size), dtype=np.float32)
    still = sound.astype(np.complex64)
    for n in range(partials):
        still *= down
        told[n], told[partials + n] = still.real, still.imag
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


def fit_stretch(read: Partials, trust: Floats, *, usual: float, usual_frames: float, smooth_frames: int) -> Floats:
    """Return the stretch B at each frame, shape (n_frames,), 0 to 0.001, from the frames around it taken together.

    ``usual`` is what to expect before anything is read; it counts for ``usual_frames`` frames of clear reading.
    """
    n2 = np.arange(1, read.hz.shape[1] + 1.0) ** 2
    trust = trust / np.maximum(trust.sum(axis=1, keepdims=True), 1e-30)
    kernel = np.hanning(2 * smooth_frames + 3)[1:-1]
    stretch = np.full(read.hz.shape[0], usual)
    for _ in range(3):  # Newton steps: the pull of B on a partial's logarithm is all but a straight line
        off = np.log(np.maximum(read.hz, 1e-3) / stretched(n2.size, stretch))
        middle = (trust * off).sum(axis=1, keepdims=True)
        off = off - middle
        near = trust * (np.abs(off) < 0.03)  # half a semitone away it is another string's partial
        pull = n2 / (2 * (1 + stretch[:, None] * n2))
        share = near.sum(axis=1, keepdims=True)
        pull = pull - (near * pull).sum(axis=1, keepdims=True) / np.maximum(share, 1e-30)
        said, known = (near * pull * off).sum(axis=1), (near * pull * pull).sum(axis=1)
        said, known = (np.convolve(part, kernel, mode="full")[smooth_frames:-smooth_frames] for part in (said, known))
        prior = usual_frames * 10.0  # about what a clear frame of a high, thin note knows
        stretch = np.clip(stretch + (said + prior * (usual - stretch)) / (known + prior), 0.0, 1e-3)
    return stretch


def fit_pitch(read: Partials, trust: Floats, stretch: Floats) -> tuple[Floats, Floats]:
    """Return the pitch f in hertz and how far the partials disagree about it in cents, each of shape (n_frames,).

    A weighted median, then a weighted mean that fades out partials far from it (Huber's weights). NaN where no partial
    stands out from the noise.
    """
    told = 1200.0 * np.log2(np.maximum(read.hz, 1e-3) / stretched(read.hz.shape[1], stretch))
    order = np.argsort(told, axis=1)
    ranked = np.take_along_axis(trust, order, axis=1).cumsum(axis=1)
    middle = (ranked >= 0.5 * ranked[:, -1:]).argmax(axis=1)
    pitch = np.take_along_axis(told, np.take_along_axis(order, middle[:, None], axis=1), axis=1)
    total = np.maximum(trust.sum(axis=1, keepdims=True), 1e-30)
    for _ in range(3):
        off = np.abs(told - pitch)
        spread = (trust * np.minimum(off, 50.0)).sum(axis=1, keepdims=True) / total
        bent = trust / np.maximum(off, np.maximum(spread, 0.3))
        pitch = (bent * told).sum(axis=1, keepdims=True) / np.maximum(bent.sum(axis=1, keepdims=True), 1e-30)
    read_at_all = trust.sum(axis=1) > 0
    return (
        np.where(read_at_all, 2.0 ** (pitch[:, 0] / 1200.0), np.nan),
        np.where(read_at_all, spread[:, 0], np.nan),
    )
