"""How far one note's overtones are stretched: the trace a string's thickness leaves in its sound.

Partial k of a stiff string lies at k f sqrt(1 + B k^2) (H. Fletcher, "Normal Vibration Frequencies of a Stiff Piano
String", J. Acoust. Soc. Am. 36, 1964). The sound is first played back at a moving rate that holds the pitch still, so
that bends and vibrato do not smear the partials; then the peaks of one long spectrum are fitted by the two numbers f
and B, peaks of other strings left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

LEAST_STRETCH, MOST_STRETCH = 4e-6, 2e-3  # below the thinnest plain string; above a thick wound one at the 22nd fret
LEAST_LOG, MOST_LOG = float(np.log(LEAST_STRETCH)), float(np.log(MOST_STRETCH))
PARTIALS = 28
LEAST_PARTIALS = 5  # peaks that must fit before anything is said
HIGHEST_HZ = 9000.0
PROMINENCE = 6.0  # a peak's amplitude against the median around it
COLLISION_HZ = 18.0  # a peak this near another string's partial belongs to nobody
LEAST_SAMPLES_A_PERIOD = 64  # once the pitch is held still; more for low notes, so that the rate stays as it was
FIT_CENTS = 3.0  # how near a peak must lie to a fitted partial to count as one
SEARCHED_LOGS = np.linspace(LEAST_LOG, MOST_LOG, 96)
SEARCHED_TUNINGS = np.arange(-12.0, 12.01, 1.0)  # cents that the followed pitch may be off
NEARLY = 0.6  # a stretch with this share of the best one's votes is another way to read the note
SHARPNESS = 0.15  # a share of the votes lower by this makes a way less likely by a factor of e
SETTLED = 1e-6  # of log B, and cents: a fit that moves by less is done
CENTS_A_LOG = 600.0 / float(np.log(2.0))  # cents of sqrt(e)
FLOOR_CENTS = 0.5  # what a peak's place is good for at best, real strings' irregularity included


@dataclass(frozen=True, slots=True)
class StretchReading:
    """One way to read a note's partials."""

    log_stretch: float  # natural logarithm of B, as the string stood at the pitch it was followed at
    error: float  # standard error of ``log_stretch``
    partials: int  # peaks that fitted; 0 where none were looked for one by one
    share: float = 1.0  # how likely it is among the ways this note can be read; they sum to 1


def read_string_stretch(
    sound: NDArray[np.float32], rate_hz: int, pitch_hz: Floats, others_hz: tuple[tuple[float, float], ...] = ()
) -> tuple[StretchReading, ...]:
    """Return the ways to read the stretch of a note's partials, the likeliest first; none where too few can be read.

    An overdriven amplifier adds sums of partials, which lie below the string's own: such a note can be read in two
    ways or three, and the rest of the take must say which is right.

    Parameters
    ----------
    sound : array, shape (n_samples,)
        The stretch of sound in which the note rings; its attack left out.
    rate_hz : int
        Samples a second.
    pitch_hz : array, shape (n_samples,)
        The note's pitch at each sample, right to about 10 cents.
    others_hz : tuple of (float, float)
        Lowest and highest of each other string's pitch while this note, held still, stands at its median: partials
        there are kept out.
    """
    still, samples_a_period, middle_hz = hold_still(sound, rate_hz, pitch_hz)
    highest = min(PARTIALS, int(min(HIGHEST_HZ, 0.42 * rate_hz) / middle_hz))
    if highest < LEAST_PARTIALS or still.size < 8 * samples_a_period:  # eight periods tell a partial from the next
        return ()
    peaks = _peaks(still, samples_a_period, highest)
    free = np.ones(peaks.place.size, dtype=bool)
    for low, high in others_hz:
        at_hz = peaks.place * middle_hz
        first = np.maximum(np.ceil((at_hz - COLLISION_HZ) / high), 1.0)  # partial that can reach so far
        free &= first > np.floor((at_hz + COLLISION_HZ) / low)
    return _ways(_Peaks(peaks.place[free], peaks.number[free]))


def hold_still(sound: Singles, rate_hz: int, pitch_hz: Floats) -> tuple[Singles, int, float]:
    """Return the sound resampled to a constant pitch, the samples a period has then, and the middle pitch in hertz."""
    turns = np.concatenate(([0.0], np.cumsum(pitch_hz)[:-1])) / rate_hz
    middle_hz = float(np.median(pitch_hz))
    a_period = max(LEAST_SAMPLES_A_PERIOD, int(np.ceil(rate_hz / middle_hz)))
    where = np.interp(np.arange(0.0, turns[-1], 1.0 / a_period), turns, np.arange(turns.size, dtype=np.float64))
    return _cubic(sound.astype(np.float32, copy=False), where), a_period, middle_hz


def _cubic(values: Singles, at: Floats) -> Singles:
    """Values between the samples, by the smooth cubic through the four around (Catmull and Rom)."""
    left = np.minimum(np.maximum(at.astype(np.intp), 1), values.size - 3)
    u = (at - left).astype(np.float32)
    a, b, c, d = (values[left + step] for step in (-1, 0, 1, 2))
    bent = 2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)
    return np.asarray(b + 0.5 * u * (c - a + u * bent))


def still_power(still: Singles, samples_a_period: int, highest: int) -> tuple[Singles, float]:
    """Return the power spectrum of a sound held still up to past its partial ``highest``, and a bin in its pitch."""
    size = 1 << int(np.ceil(np.log2(still.size * 4)))
    bin_width = samples_a_period / size  # in multiples of the pitch
    used = int((highest + 0.6) / bin_width) + 3
    turned = np.linspace(0, 2 * np.pi, still.size, dtype=np.float32)
    spectrum = np.fft.rfft(still * (0.5 - 0.5 * np.cos(turned)), size)[:used]
    return np.square(spectrum.real) + np.square(spectrum.imag), bin_width


@dataclass(frozen=True, slots=True, eq=False)
class _Peaks:
    """Peaks that could be partials."""

    place: Floats  # in multiples of the pitch followed
    number: NDArray[np.intp]  # of the partial it could be


def _peaks(still: Singles, samples_a_period: int, highest: int) -> _Peaks:
    """The strongest peaks near each partial."""
    power, bin_width = still_power(still, samples_a_period, highest)
    inner = np.flatnonzero((power[1:-1] > power[:-2]) & (power[1:-1] >= power[2:])) + 1
    before, at, after = (np.log(np.maximum(power[inner + step], 1e-24), dtype=np.float64) for step in (-1, 0, 1))
    place = (inner + 0.5 * (before - after) / np.minimum(before - 2 * at + after, -1e-9)) * bin_width
    strength = power[inner].tolist()
    k = np.arange(1, highest + 1)
    begins = np.searchsorted(place, k * 0.994 - 0.02, side="right").tolist()
    ends = np.searchsorted(place, np.minimum(k * np.sqrt(1 + MOST_STRETCH * k * k) + 0.02, k + 0.6)).tolist()
    edges = ((np.arange(highest + 1) + 0.5) / bin_width).astype(int).tolist()
    floors = [PROMINENCE**2 * _middle(power[first : last + 1]) for first, last in pairwise(edges)]
    found: list[tuple[int, int]] = []
    for partial, begin, end, floor in zip(k.tolist(), begins, ends, floors, strict=True):
        near = [peak for peak in range(begin, end) if strength[peak] > floor]
        found += [(peak, partial) for peak in sorted(near, key=strength.__getitem__, reverse=True)[:3]]
    peaks, numbers = np.array(found, dtype=np.intp).reshape(-1, 2).T
    return _Peaks(place[peaks], numbers)


def _middle(values: Singles) -> float:
    """The median, without what numpy's own costs for a few hundred values."""
    half = values.size // 2
    ranked = np.partition(values, half)
    return float(ranked[half]) if values.size % 2 else float(ranked[:half].max() + ranked[half]) / 2


def _ways(peaks: _Peaks) -> tuple[StretchReading, ...]:
    """The stretches on which many peaks agree: a search over stretch and pitch, then each peak of the votes refined."""
    if len(set(peaks.number.tolist())) < LEAST_PARTIALS:
        return ()
    heard_cents = 1200.0 * np.log2(peaks.place / peaks.number)
    votes = _votes(peaks, heard_cents)
    best = np.concatenate(([0.0], votes.max(axis=1), [0.0]))
    tops = np.flatnonzero((best[1:-1] > best[:-2]) & (best[1:-1] >= best[2:]) & (best[1:-1] > NEARLY * best.max()))
    found: list[tuple[float, StretchReading]] = []
    for top in tops:
        way = _refined(peaks, heard_cents, float(SEARCHED_LOGS[top]), float(SEARCHED_TUNINGS[votes[top].argmax()]))
        if way is not None and all(abs(way.log_stretch - other.log_stretch) > 0.1 for _, other in found):
            found.append((float(np.exp(votes[top].max() / best.max() / SHARPNESS)), way))
    total = sum(weight for weight, _ in found)
    ways = [replace(way, share=weight / total) for weight, way in found]
    return tuple(sorted(ways, key=lambda way: -way.share))


def _votes(peaks: _Peaks, heard_cents: Floats) -> Singles:
    """How well each stretch and each pitch fits all peaks, shape (n_logs, n_tunings)."""
    k = peaks.number.astype(np.float64)
    stretched_cents = CENTS_A_LOG * np.log1p(np.exp(SEARCHED_LOGS)[:, None] * k * k)
    off = ((heard_cents - stretched_cents) / (FIT_CENTS + 2.0)).astype(np.float32)[:, None, :]
    off = off - (SEARCHED_TUNINGS / (FIT_CENTS + 2.0)).astype(np.float32)[:, None]
    np.subtract(1.0, np.square(off, out=off), out=off)
    return np.asarray(np.maximum(0.0, off, out=off) @ np.sqrt(k).astype(np.float32))


def _refined(peaks: _Peaks, heard_cents: Floats, log_stretch: float, tune: float) -> StretchReading | None:
    """Least squares on the peaks that fit, from a rough stretch and pitch."""
    k2 = np.square(peaks.number.astype(np.float64))
    starts = np.flatnonzero(np.concatenate(([True], k2[1:] != k2[:-1])))  # the first peak of each partial
    counts = np.diff(np.concatenate((starts, [k2.size])))
    for _ in range(6):
        stretched = np.exp(log_stretch) * k2
        residual = heard_cents - CENTS_A_LOG * np.log1p(stretched) - tune
        close = np.flatnonzero((np.abs(residual) < FIT_CENTS) & _nearest_of_each(residual, starts, counts))
        if close.size < LEAST_PARTIALS:
            return None
        off, stretched = residual[close], stretched[close]
        pull = CENTS_A_LOG * stretched / (1 + stretched)  # cents for one unit of log B
        middle, pulled = float(off.sum()) / off.size, float(pull.sum()) / off.size
        aside = pull - pulled
        known = float(aside @ aside)
        step = float(aside @ off) / known
        tune += middle - step * pulled
        log_stretch += min(max(step, -0.5), 0.5)
        log_stretch = min(max(log_stretch, LEAST_LOG), MOST_LOG)
        if abs(step) < SETTLED and abs(middle - step * pulled) < SETTLED:
            break
    spread = np.sqrt(off @ off / off.size + FLOOR_CENTS**2)
    error = float(spread * np.sqrt(max(1 / known, 1e-9)) * np.sqrt(off.size / max(off.size - 2, 1)))
    return StretchReading(log_stretch, error, off.size)


def _nearest_of_each(residual: Floats, starts: NDArray[np.intp], counts: NDArray[np.intp]) -> NDArray[np.bool_]:
    """True for the peak of each partial that lies nearest the fit; a partial's peaks stand together."""
    away = np.abs(residual)
    return np.asarray(away == np.repeat(np.minimum.reduceat(away, starts), counts))
