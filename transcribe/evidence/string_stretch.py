"""How far one note's overtones are stretched: the trace a string's thickness leaves in its sound.

Partial k of a stiff string lies at k f sqrt(1 + B k^2) (H. Fletcher, "Normal Vibration Frequencies of a Stiff Piano
String", J. Acoust. Soc. Am. 36, 1964). The sound is first played back at a moving rate that holds the pitch still, so
that bends and vibrato do not smear the partials; then the peaks of one long spectrum are fitted by the two numbers f
and B, peaks of other strings left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEAST_STRETCH, MOST_STRETCH = 4e-6, 2e-3  # below the thinnest plain string; above a thick wound one at the 22nd fret
PARTIALS = 28
LEAST_PARTIALS = 5  # peaks that must fit before anything is said
HIGHEST_HZ = 9000.0
PROMINENCE = 6.0  # a peak's amplitude against the median around it
COLLISION_HZ = 18.0  # a peak this near another string's partial belongs to nobody
LEAST_SAMPLES_A_PERIOD = 64  # once the pitch is held still; more for low notes, so that the rate stays as it was
FIT_CENTS = 3.0  # how near a peak must lie to a fitted partial to count as one
FLOOR_CENTS = 0.5  # what a peak's place is good for at best, real strings' irregularity included


@dataclass(frozen=True, slots=True)
class StretchReading:
    """What one note's partials say."""

    log_stretch: float  # natural logarithm of B, as the string stood at the pitch it was followed at
    error: float  # standard error of ``log_stretch``
    partials: int  # peaks that fitted


def read_string_stretch(
    sound: NDArray[np.float32], rate_hz: int, pitch_hz: Floats, others_hz: tuple[float, ...] = ()
) -> StretchReading | None:
    """Return the stretch of a note's partials, or None where too few of them can be read.

    Parameters
    ----------
    sound : array, shape (n_samples,)
        The stretch of sound in which the note rings; its attack left out.
    rate_hz : int
        Samples a second.
    pitch_hz : array, shape (n_samples,)
        The note's pitch at each sample, right to about 10 cents.
    others_hz : tuple of float
        Pitches that sound at the same time, whose partials are kept out.
    """
    still, samples_a_period, middle_hz = hold_still(sound, rate_hz, pitch_hz)
    if still.size < 8 * samples_a_period:  # fewer than eight periods tell no partial from the next
        return None
    highest = min(PARTIALS, int(min(HIGHEST_HZ, 0.42 * rate_hz) / middle_hz))
    place, strength, number = _peaks(still, samples_a_period, highest)
    free = np.ones(place.size, dtype=bool)
    for other in others_hz:
        overtone = np.maximum(np.round(place * middle_hz / other), 1.0) * other
        free &= np.abs(place * middle_hz - overtone) > COLLISION_HZ
    return _fit(place[free], strength[free], number[free])


def hold_still(sound: NDArray[np.float32], rate_hz: int, pitch_hz: Floats) -> tuple[Floats, int, float]:
    """Return the sound resampled to a constant pitch, the samples a period has then, and the middle pitch in hertz."""
    turns = np.concatenate(([0.0], np.cumsum(pitch_hz)[:-1])) / rate_hz
    middle_hz = float(np.median(pitch_hz))
    a_period = max(LEAST_SAMPLES_A_PERIOD, int(np.ceil(rate_hz / middle_hz)))
    where = np.interp(np.arange(0.0, turns[-1], 1.0 / a_period), turns, np.arange(turns.size, dtype=np.float64))
    return _cubic(sound.astype(np.float64), where), a_period, middle_hz


def _cubic(values: Floats, at: Floats) -> Floats:
    """Values between the samples, by the smooth cubic through the four around (Catmull and Rom)."""
    left = np.clip(at.astype(int), 1, values.size - 3)
    u = at - left
    a, b, c, d = values[left - 1], values[left], values[left + 1], values[left + 2]
    return np.asarray(b + 0.5 * u * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a))))


def _peaks(still: Floats, samples_a_period: int, highest: int) -> tuple[Floats, Floats, NDArray[np.intp]]:
    """Peaks that could be partials: place in multiples of the pitch, amplitude, and number of the partial."""
    size = 1 << int(np.ceil(np.log2(still.size * 4)))
    spectrum = np.abs(np.fft.rfft(still * np.hanning(still.size), size))
    bin_width = samples_a_period / size  # in multiples of the pitch
    level = np.log(np.maximum(spectrum, 1e-12))
    inner = np.flatnonzero((level[1:-1] > level[:-2]) & (level[1:-1] >= level[2:])) + 1
    bend = level[inner - 1] - 2 * level[inner] + level[inner + 1]
    shift = 0.5 * (level[inner - 1] - level[inner + 1]) / np.minimum(bend, -1e-9)
    place, strength = (inner + shift) * bin_width, spectrum[inner]
    found: list[tuple[float, float, int]] = []
    for k in range(1, highest + 1):
        first, last = k * 0.994 - 0.02, k * np.sqrt(1 + MOST_STRETCH * k * k) + 0.02
        last = min(last, k + 0.6)
        around = spectrum[max(0, int((k - 0.5) / bin_width)) : int((k + 0.5) / bin_width) + 1]
        floor = PROMINENCE * float(np.median(around)) if around.size else np.inf
        near = np.flatnonzero((place > first) & (place < last) & (strength > floor))
        strongest = near[np.argsort(strength[near])[::-1][:3]]
        found += [(float(place[i]), float(strength[i]), k) for i in strongest]
    if not found:
        return np.empty(0), np.empty(0), np.empty(0, dtype=np.intp)
    places, strengths, numbers = zip(*found, strict=True)
    return np.array(places), np.array(strengths), np.array(numbers, dtype=np.intp)


def _fit(place: Floats, strength: Floats, number: NDArray[np.intp]) -> StretchReading | None:
    """The pitch and stretch on which most peaks agree: a search over both, then least squares on those that fit."""
    if np.unique(number).size < LEAST_PARTIALS:
        return None
    logs = np.linspace(np.log(LEAST_STRETCH), np.log(MOST_STRETCH), 96)
    k = number.astype(np.float64)
    stretched_cents = 600.0 * np.log2(1 + np.exp(logs)[:, None] * k * k)  # (B, peak)
    heard_cents = 1200.0 * np.log2(place / k)
    tuning = np.arange(-12.0, 12.01, 1.0)  # cents that the followed pitch may be off
    off = heard_cents[None, None, :] - stretched_cents[:, None, :] - tuning[None, :, None]
    vote = np.maximum(0.0, 1.0 - (off / (FIT_CENTS + 2.0)) ** 2) * np.sqrt(k)
    best = np.unravel_index(int(vote.sum(axis=2).argmax()), (logs.size, tuning.size))
    log_stretch, tune = float(logs[best[0]]), float(tuning[best[1]])
    for _ in range(6):
        stretch = float(np.exp(log_stretch))
        residual = heard_cents - 600.0 * np.log2(1 + stretch * k * k) - tune
        close = np.abs(residual) < FIT_CENTS
        close &= _nearest_of_each(residual, number)
        if np.count_nonzero(close) < LEAST_PARTIALS:
            return None
        pull = 600.0 / np.log(2) * stretch * k * k / (1 + stretch * k * k)  # cents for one unit of log B
        rows = np.stack([np.ones(int(close.sum())), pull[close]], axis=1)
        step, *_ = np.linalg.lstsq(rows, residual[close], rcond=None)
        tune += float(step[0])
        log_stretch = float(np.clip(log_stretch + np.clip(step[1], -0.5, 0.5), logs[0], logs[-1]))
    spread = np.sqrt(np.mean(residual[close] ** 2) + FLOOR_CENTS**2)
    covariance = np.linalg.pinv(rows.T @ rows)
    error = float(spread * np.sqrt(max(covariance[1, 1], 1e-9)) * np.sqrt(len(rows) / max(len(rows) - 2, 1)))
    return StretchReading(log_stretch, error, int(close.sum()))


def _nearest_of_each(residual: Floats, number: NDArray[np.intp]) -> NDArray[np.bool_]:
    """True for the peak of each partial that lies nearest the fit."""
    order = np.lexsort((np.abs(residual), number))
    first = np.concatenate(([True], np.diff(number[order]) != 0))
    chosen = np.zeros(residual.size, dtype=bool)
    chosen[order[first]] = True
    return chosen
