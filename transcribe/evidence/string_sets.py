"""Which string each note of a take was played on, judged from the stretch of its partials.

A fret n shortens the string at one tension, so that its stretch B grows by 2^(n/6): one number a string, B of the open
string, tells all its frets. Sets of strings differ, and so do their gauges; the B of each string is therefore learned
within the take, from typical sets, by expectation-maximisation (A. P. Dempster, N. M. Laird, D. B. Rubin, J. Royal
Statistical Society B 39(1), 1977). One phrase can be explained by several guitars, each with the phrase on other
strings: every explanation is kept, with what it is worth, for the fingering to choose among.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.string_stretch import LEAST_STRETCH, MOST_STRETCH, StretchReading

Floats = NDArray[np.float64]
StringWeights = tuple[tuple[float, ...] | None, ...]  # a note, a string; None where nothing can be said

# B of open strings 1 to 6 in typical sets, and how far (in log B) one string may lie from it. Plain strings:
# B = pi^3 E d^4 / (64 T L^2) with E = 200 GPa, L = 648 mm, diameters .010 .013 .017 in (acoustic .012 .016). Wound
# electric strings: an electric guitar's recorded notes. Wound acoustic and classical strings: middles of what this
# module's own reader gives on recorded open strings of two steel-string acoustics and on a classical guitar's
# (University of Iowa instrument samples). Cores of wound strings differ more from maker to maker than plain strings do.
PLAIN, WOUND = 0.15, 0.2
TYPICAL_SETS: dict[str, tuple[tuple[float, float], ...]] = {
    "electric, plain third": (
        (1.3e-5, PLAIN), (4.0e-5, PLAIN), (1.08e-4, PLAIN), (5.1e-5, WOUND), (6.6e-5, WOUND), (1.33e-4, WOUND),
    ),
    "steel acoustic, wound third": (
        (1.9e-5, PLAIN), (5.5e-5, PLAIN), (2.6e-5, WOUND), (4.0e-5, WOUND), (5.5e-5, WOUND), (1.0e-4, WOUND),
    ),
    "classical": (
        (4.2e-5, PLAIN), (6.6e-5, PLAIN), (1.25e-4, PLAIN), (2.0e-5, WOUND), (1.65e-5, WOUND), (2.1e-5, WOUND),
    ),
}  # fmt: skip
# How many takes are played on each: an estimate of ours, made with the benchmark in sight. It decides where two guitars
# explain a short take as well.
SET_SHARES = {"electric, plain third": 0.45, "steel acoustic, wound third": 0.45, "classical": 0.1}
CORE_SPREAD = 0.35  # of log B of all wound strings together: one maker's cores are thick or thin throughout
GAUGE_SPREAD = 0.25  # of log B: a set one size up is thicker on every string by a tenth, and B goes with its square
READING_SPREAD = 0.08  # of log B from note to note on one string, besides the error of each reading
# Where more is known than the partials the spread is learned for each string, down to a least one, the spread above
# counting for so many notes. Without that it would lock wrong sets in: of 36 notes of a classical guitar 5 went wrong.
LEAST_SPREAD, SPREAD_WEIGHT = 0.02, 2.0
ASTRAY = 0.1  # share of readings that tell of no string, before the take is known
ASTRAY_WEIGHT = 4.0  # notes for which that share counts
# A stretch that can hardly be told from none although this many partials fit it is no string's: a distorting amplifier
# makes sums and differences of partials, which keep whole ratios. The more notes of a take show one, the less the
# others are heeded too. Chosen with all licks of the benchmark in sight: its driven figures are not blind.
LOCKED_PARTIALS, LOCKED_ERROR = 9, 0.12
LOCKED_POWER = 3.0  # log weights are scaled by the share of notes that show none, to this power
LEAST_HEEDED = 0.05  # below this scale nothing is said
LOG_RANGE = float(np.log(MOST_STRETCH / LEAST_STRETCH))  # over which a reading gone astray may lie
LEAST_SHARE = 1e-3  # of any string that can play the note, whatever is known before its partials are read
ROUNDS = 25
FURTHEST = 12.0  # explanations worth less than the best by more than this (a factor of e each) are dropped
MOST_EXPLANATIONS = 12


@dataclass(frozen=True, slots=True)
class Explanation:
    """One guitar that could have sounded so, and what it says of every note."""

    weights: StringWeights
    worth: float  # log likelihood with each note on its likeliest string, and the set as usual as it is


def explanations(
    readings: Sequence[Sequence[StretchReading]],
    midi: Sequence[int],
    open_midi: Sequence[int],
    *,
    frets: int,
    capo: int = 0,
    tempered: bool = True,
    shares: Sequence[Sequence[float] | None] | None = None,
) -> tuple[Explanation, ...]:
    """Return the explanations of a take's readings, the best first; none where nothing can be said.

    The stretches of a take whose partials are locked together by distortion count for less, or for nothing; not
    ``tempered``, they tell what they would say if it were clean. ``shares`` are what else is known of each note: how
    likely each string is before its partials are read, None where that is nothing.

    ``midi`` are fretted pitches, ``open_midi`` the open strings without the capo, and the readings stand for the
    fretted pitch. Strings on which a note cannot be played weigh nothing; each note's weights sum to 1.
    """
    fret = np.array(midi, dtype=np.float64).reshape(-1, 1) - np.array(open_midi, dtype=np.float64)
    playable = (fret >= capo) & (fret <= frets)
    if len(open_midi) != 6:  # the typical sets have six strings
        return ()
    before: Sequence[Sequence[float] | None] = [None] * len(midi) if shares is None else shares
    read = [ways for ways, can in zip(readings, playable, strict=True) if ways and can.any()]
    heed = _heed(read) if tempered and read else 1.0
    heeded: list[Sequence[StretchReading]] = [ways if heed >= LEAST_HEEDED else () for ways in readings]
    told = [i for i, can in enumerate(playable) if can.any() and (heeded[i] or before[i] is not None)]
    if not told:
        return ()
    take = _take([heeded[i] for i in told], [before[i] for i in told], fret[told], playable[told], heed)
    best: dict[bytes, tuple[float, Floats]] = {}  # by the string each note is given
    for kind, strings in TYPICAL_SETS.items():
        typical, spread = np.log(np.array([b for b, _ in strings])), np.array([s for _, s in strings])
        for fit, found in zip(*_fit(take, typical, spread), strict=True):
            worth = fit + np.log(SET_SHARES[kind])
            name = found[:, :-1].argmax(axis=1).tobytes()
            if name not in best or best[name][0] < worth:
                best[name] = (float(worth), found)
    ranked = sorted(best.values(), key=lambda item: -item[0])[:MOST_EXPLANATIONS]
    return tuple(
        Explanation(_weights(found, take, told, len(readings)), worth)
        for worth, found in ranked
        if worth > ranked[0][0] - FURTHEST
    )


def _heed(readings: Sequence[Sequence[StretchReading]]) -> float:
    """How far the sound of a take is trusted, 0 to 1: less the more notes show partials locked in whole ratios."""
    locked = [any(way.partials >= LOCKED_PARTIALS and way.error > LOCKED_ERROR for way in ways) for ways in readings]
    return float((1.0 - np.mean(locked)) ** LOCKED_POWER)


@dataclass(frozen=True, slots=True, eq=False)
class _Take:
    """The readings of a take, each as if its note were on every string in turn."""

    open_log_b: Floats  # (n_notes, n_strings, n_ways) log B of the open string
    log_chance: Floats  # (n_notes, 1, n_ways) of each way to read the note
    variance: Floats  # (n_notes, 1, n_ways) of the reading itself; infinite where there is none
    playable: NDArray[np.bool_]  # (n_notes, n_strings)
    log_before: Floats  # (n_notes, n_strings) of each string, before the partials are read
    heed: float  # power to which the likelihood of a reading is taken
    more_known: bool  # something is known of the strings before the partials are read


def _take(
    readings: Sequence[Sequence[StretchReading]],
    before: Sequence[Sequence[float] | None],
    fret: Floats,
    playable: NDArray[np.bool_],
    heed: float,
) -> _Take:
    """Readings as arrays; a note with fewer ways than others is filled up with impossible ones."""
    most = max(1, *(len(ways) for ways in readings))
    shape = (len(readings), 1, most)
    log_b, variance, log_chance = np.zeros(shape), np.full(shape, np.inf), np.full(shape, -np.inf)
    for row, ways in enumerate(readings):
        if not ways:  # as likely on any string as astray
            log_chance[row, 0, 0] = -np.log(LOG_RANGE)
        for column, way in enumerate(ways):
            log_b[row, 0, column], variance[row, 0, column] = way.log_stretch, way.error**2
            log_chance[row, 0, column] = np.log(way.share)
    known = np.array([[1.0] * playable.shape[1] if told is None else list(told) for told in before])
    known = np.where(playable, np.maximum(known, LEAST_SHARE), 0.0)
    with np.errstate(divide="ignore"):
        log_before = np.log(known / known.sum(axis=1, keepdims=True))
    open_log_b, more = log_b - np.log(2) / 6 * fret[..., None], any(told is not None for told in before)
    return _Take(open_log_b, log_chance, variance, playable, log_before, heed, more)


def _starts(typical: Floats, spread: Floats) -> Floats:
    """Where to look for explanations, (n_starts, n_strings): the set as usual, one string or all cores far off."""
    far = 2.0 * np.concatenate([np.diag(spread), CORE_SPREAD * (spread == WOUND)[None]])
    return typical + np.concatenate([np.zeros((1, typical.size)), far, -far])


def _fit(take: _Take, typical: Floats, spread: Floats) -> tuple[Floats, Floats]:
    """The worth of each explanation found, shape (n_starts,), and its shares, shape (n_starts, n_notes, n_strings + 1).

    The last column is the share gone astray.
    """
    centre = _starts(typical, spread)
    gauge, cores, astray = np.zeros((len(centre), 1)), np.zeros((len(centre), 1)), np.full((len(centre), 1, 1), ASTRAY)
    varied = np.full(centre.shape, READING_SPREAD**2)
    wound = spread == WOUND
    notes, own = len(take.open_log_b), 1 / spread**2
    logs = np.zeros((len(centre), notes, typical.size + 1))
    for _ in range(ROUNDS):
        off = take.open_log_b - centre[:, None, :, None]
        precision = 1 / (take.variance + varied[:, None, :, None])
        bell = 0.5 * np.log(np.where(precision > 0, precision / (2 * np.pi), 1.0))
        each_way = take.log_chance + bell - 0.5 * off * off * precision
        height = each_way.max(axis=3)
        ways = np.exp(each_way - height[..., None])
        dense = ways.sum(axis=3)
        fits = take.heed * (height + np.log(dense)) + take.log_before + np.log(1 - astray)
        logs[..., :-1] = np.where(take.playable, fits, -np.inf)
        logs[..., -1:] = np.log(astray) - take.heed * np.log(LOG_RANGE)
        top = logs.max(axis=2, keepdims=True)
        shares = np.exp(logs - top)
        shares /= shares.sum(axis=2, keepdims=True)
        belongs = take.heed * (shares[..., :-1] / dense)[..., None] * ways * (precision > 0)
        weight = belongs * precision
        pull = weight.sum(axis=(1, 3))
        centre = ((weight * take.open_log_b).sum(axis=(1, 3)) + (typical + gauge + cores * wound) * own) / (pull + own)
        sure = pull * own / (pull + own)
        gauge = (sure * (centre - typical - cores * wound)).sum(axis=1, keepdims=True)
        gauge /= sure.sum(axis=1, keepdims=True) + 1 / GAUGE_SPREAD**2
        cores = (sure * (centre - typical - gauge) * wound).sum(axis=1, keepdims=True)
        cores /= (sure * wound).sum(axis=1, keepdims=True) + 1 / CORE_SPREAD**2
        lost = shares[..., -1].sum(axis=1)
        astray = ((lost + ASTRAY * ASTRAY_WEIGHT) / (notes + ASTRAY_WEIGHT))[:, None, None]
        if not take.more_known:
            continue
        scatter = np.maximum(off * off - take.variance, 0.0)
        varied = (belongs * np.where(np.isfinite(scatter), scatter, 0.0)).sum(axis=(1, 3))
        varied = (varied + SPREAD_WEIGHT * READING_SPREAD**2) / (belongs.sum(axis=(1, 3)) + SPREAD_WEIGHT)
        varied = np.clip(varied, LEAST_SPREAD**2, READING_SPREAD**2)
    own_way = (((centre - typical - gauge - cores * wound) / spread) ** 2).sum(axis=1)
    unusual = (gauge[:, 0] / GAUGE_SPREAD) ** 2 + (cores[:, 0] / CORE_SPREAD) ** 2 + own_way
    return top[..., 0].sum(axis=1) - 0.5 * unusual, shares


def _weights(shares: Floats, take: _Take, told: Sequence[int], count: int) -> StringWeights:
    """Shares of the strings; where a reading went astray, what was known before it."""
    weights = np.where(take.playable, shares[:, :-1] + shares[:, -1:] * np.exp(take.log_before), 0.0)
    weights /= weights.sum(axis=1, keepdims=True)
    found: list[tuple[float, ...] | None] = [None] * count
    for row, index in enumerate(told):
        found[index] = tuple(float(weight) for weight in weights[row])
    return tuple(found)
