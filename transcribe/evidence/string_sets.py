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
ASTRAY = 0.1  # share of readings that tell of no string, before the take is known
ASTRAY_WEIGHT = 4.0  # notes for which that share counts
# A stretch that can hardly be told from none although this many partials fit it is no string's: a distorting amplifier
# makes sums and differences of partials, which keep whole ratios. The more notes of a take show one, the less the
# others are heeded too. Chosen with all licks of the benchmark in sight: its driven figures are not blind.
LOCKED_PARTIALS, LOCKED_ERROR = 9, 0.12
LOCKED_POWER = 3.0  # log weights are scaled by the share of notes that show none, to this power
# Readings through distortion (``driven_stretch.py``) scatter more on recorded guitars than on the string model: where
# they disagree with the hand they are heeded this much less.
DRIVEN_HEED = 0.5
LEAST_HEEDED = 0.05  # below this scale nothing is said
LOG_RANGE = float(np.log(MOST_STRETCH / LEAST_STRETCH))  # over which a reading gone astray may lie
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
) -> tuple[Explanation, ...]:
    """Return the explanations of a take's readings, the best first; none where nothing can be said.

    A take whose partials are locked together by distortion counts for less, or for nothing; not ``tempered``, it tells
    what it would say if it were clean.

    ``midi`` are fretted pitches, ``open_midi`` the open strings without the capo, and the readings stand for the
    fretted pitch. Strings on which a note cannot be played weigh nothing; each note's weights sum to 1.
    """
    fret = np.array(midi, dtype=np.float64).reshape(-1, 1) - np.array(open_midi, dtype=np.float64)
    playable = (fret >= capo) & (fret <= frets)
    told = [index for index, ways in enumerate(readings) if ways and playable[index].any()]
    if not told or len(open_midi) != 6:  # the typical sets have six strings
        return ()
    heed = _heed([readings[index] for index in told]) if tempered else 1.0
    if heed < LEAST_HEEDED:
        return ()
    take = _take([readings[index] for index in told], fret[told], playable[told])
    best: dict[bytes, tuple[float, Floats]] = {}  # by the string each note is given
    for kind, strings in TYPICAL_SETS.items():
        typical, spread = np.log(np.array([b for b, _ in strings])), np.array([s for _, s in strings])
        for fit, shares in zip(*_fit(take, typical, spread), strict=True):
            worth = fit + np.log(SET_SHARES[kind])
            name = shares[:, :-1].argmax(axis=1).tobytes()
            if name not in best or best[name][0] < worth:
                best[name] = (float(worth), shares)
    ranked = sorted(best.values(), key=lambda item: -item[0])[:MOST_EXPLANATIONS]
    return tuple(
        Explanation(_weights(shares, take.playable, told, len(readings), heed), worth * heed)
        for worth, shares in ranked
        if worth > ranked[0][0] - FURTHEST
    )


def _heed(readings: Sequence[Sequence[StretchReading]]) -> float:
    """How far the sound of a take is trusted, 0 to 1.

    Less the more notes show partials locked in whole ratios, and the more were read through distortion.
    """
    locked = [any(way.partials >= LOCKED_PARTIALS and way.error > LOCKED_ERROR for way in ways) for ways in readings]
    driven = [all(way.partials == 0 for way in ways) for ways in readings]
    return float((1.0 - np.mean(locked)) ** LOCKED_POWER * (1.0 - (1.0 - DRIVEN_HEED) * np.mean(driven)))


@dataclass(frozen=True, slots=True, eq=False)
class _Take:
    """The readings of a take, each as if its note were on every string in turn."""

    open_log_b: Floats  # (n_notes, n_strings, n_ways) log B of the open string
    log_chance: Floats  # (n_notes, 1, n_ways) of each way to read the note, with the height of its bell curve
    precision: Floats  # (n_notes, 1, n_ways) 1 / variance
    playable: NDArray[np.bool_]  # (n_notes, n_strings)


def _take(readings: Sequence[Sequence[StretchReading]], fret: Floats, playable: NDArray[np.bool_]) -> _Take:
    """Readings as arrays; a note with fewer ways than others is filled up with impossible ones."""
    most = max(len(ways) for ways in readings)
    shape = (len(readings), 1, most)
    log_b, precision, log_chance = np.zeros(shape), np.ones(shape), np.full(shape, -np.inf)
    for row, ways in enumerate(readings):
        for column, way in enumerate(ways):
            spread = np.hypot(way.error, READING_SPREAD)
            log_b[row, 0, column], precision[row, 0, column] = way.log_stretch, 1 / spread**2
            log_chance[row, 0, column] = np.log(way.share) - np.log(spread * np.sqrt(2 * np.pi))
    return _Take(log_b - np.log(2) / 6 * fret[..., None], log_chance, precision, playable)


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
    wound = spread == WOUND
    notes, own = len(take.open_log_b), 1 / spread**2
    logs = np.zeros((len(centre), notes, typical.size + 1))
    even = -np.log(take.playable.sum(axis=1, keepdims=True))
    for _ in range(ROUNDS):
        off = take.open_log_b - centre[:, None, :, None]
        each_way = take.log_chance - 0.5 * off * off * take.precision
        height = each_way.max(axis=3)
        ways = np.exp(each_way - height[..., None])
        dense = ways.sum(axis=3)
        logs[..., :-1] = np.where(take.playable, height + np.log(dense) + even + np.log(1 - astray), -np.inf)
        logs[..., -1:] = np.log(astray / LOG_RANGE)
        top = logs.max(axis=2, keepdims=True)
        shares = np.exp(logs - top)
        shares /= shares.sum(axis=2, keepdims=True)
        weight = (shares[..., :-1] / dense)[..., None] * ways * take.precision
        pull = weight.sum(axis=(1, 3))
        centre = ((weight * take.open_log_b).sum(axis=(1, 3)) + (typical + gauge + cores * wound) * own) / (pull + own)
        sure = pull * own / (pull + own)
        gauge = (sure * (centre - typical - cores * wound)).sum(axis=1, keepdims=True)
        gauge /= sure.sum(axis=1, keepdims=True) + 1 / GAUGE_SPREAD**2
        cores = (sure * (centre - typical - gauge) * wound).sum(axis=1, keepdims=True)
        cores /= (sure * wound).sum(axis=1, keepdims=True) + 1 / CORE_SPREAD**2
        lost = shares[..., -1].sum(axis=1)
        astray = ((lost + ASTRAY * ASTRAY_WEIGHT) / (notes + ASTRAY_WEIGHT))[:, None, None]
    own_way = (((centre - typical - gauge - cores * wound) / spread) ** 2).sum(axis=1)
    unusual = (gauge[:, 0] / GAUGE_SPREAD) ** 2 + (cores[:, 0] / CORE_SPREAD) ** 2 + own_way
    return top[..., 0].sum(axis=1) - 0.5 * unusual, shares


def _weights(
    shares: Floats, playable: NDArray[np.bool_], told: Sequence[int], count: int, heed: float
) -> StringWeights:
    """Shares of the strings, what went astray spread evenly over those that can play the note; flat at ``heed`` 0."""
    flat = playable / playable.sum(axis=1, keepdims=True)
    weights = np.where(playable, (shares[:, :-1] + shares[:, -1:] * flat) ** heed, 0.0)
    weights /= weights.sum(axis=1, keepdims=True)
    found: list[tuple[float, ...] | None] = [None] * count
    for row, index in enumerate(told):
        found[index] = tuple(float(weight) for weight in weights[row])
    return tuple(found)
