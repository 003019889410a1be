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
PLAIN, WOUND = 0.15, 0.35
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
GAUGE_SPREAD = 0.25  # of log B: a set one size up is thicker on every string by a tenth, and B goes with its square
READING_SPREAD = 0.08  # of log B from note to note on one string, besides the error of each reading
ASTRAY = 0.1  # share of readings that tell of no string, before the take is known
ASTRAY_WEIGHT = 4.0  # notes for which that share counts
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
    readings: Sequence[StretchReading | None],
    midi: Sequence[int],
    open_midi: Sequence[int],
    *,
    frets: int,
    capo: int = 0,
) -> tuple[Explanation, ...]:
    """Return the explanations of a take's readings, the best first; none where nothing can be said.

    ``midi`` are fretted pitches, ``open_midi`` the open strings without the capo, and the readings stand for the
    fretted pitch. Strings on which a note cannot be played weigh nothing; each note's weights sum to 1.
    """
    fret = np.array(midi, dtype=np.float64).reshape(-1, 1) - np.array(open_midi, dtype=np.float64)
    playable = (fret >= capo) & (fret <= frets)
    known = {index: reading for index, reading in enumerate(readings) if reading is not None and playable[index].any()}
    if not known or len(open_midi) != 6:  # the typical sets have six strings
        return ()
    told = list(known)
    log_b, error = np.array([(reading.log_stretch, reading.error) for reading in known.values()]).T
    take = _Take(log_b[:, None] - np.log(2) / 6 * fret[told], np.hypot(error, READING_SPREAD)[:, None], playable[told])
    best: dict[bytes, tuple[float, Floats]] = {}  # by the string each note is given
    for strings in TYPICAL_SETS.values():
        typical, spread = np.log(np.array([b for b, _ in strings])), np.array([s for _, s in strings])
        for worth, shares in zip(*_fit(take, typical, spread), strict=True):
            name = shares[:, :-1].argmax(axis=1).tobytes()
            if name not in best or best[name][0] < worth:
                best[name] = (float(worth), shares)
    ranked = sorted(best.values(), key=lambda item: -item[0])[:MOST_EXPLANATIONS]
    return tuple(
        Explanation(_weights(shares, take.playable, told, len(readings)), worth)
        for worth, shares in ranked
        if worth > ranked[0][0] - FURTHEST
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Take:
    """The readings of a take, each as if its note were on every string in turn."""

    open_log_b: Floats  # (n_notes, n_strings) log B of the open string
    spread: Floats  # (n_notes, 1)
    playable: NDArray[np.bool_]  # (n_notes, n_strings)


def _starts(typical: Floats, spread: Floats) -> Floats:
    """Where to look for explanations, shape (n_starts, n_strings): the set as usual, and with one string far off."""
    far = 2.0 * np.diag(spread)
    return typical + np.concatenate([np.zeros((1, typical.size)), far, -far])


def _fit(take: _Take, typical: Floats, spread: Floats) -> tuple[Floats, Floats]:
    """The worth of each explanation found, shape (n_starts,), and its shares, shape (n_starts, n_notes, n_strings + 1).

    The last column is the share gone astray.
    """
    centre = _starts(typical, spread)
    gauge, astray = np.zeros((len(centre), 1)), np.full((len(centre), 1, 1), ASTRAY)
    notes, own = len(take.open_log_b), 1 / spread**2
    logs = np.zeros((len(centre), notes, typical.size + 1))
    even = -np.log(take.playable.sum(axis=1, keepdims=True) * take.spread * np.sqrt(2 * np.pi))
    precision = 1 / take.spread**2
    for _ in range(ROUNDS):
        off = take.open_log_b - centre[:, None, :]
        logs[..., :-1] = np.where(take.playable, even - 0.5 * off * off * precision + np.log(1 - astray), -np.inf)
        logs[..., -1:] = np.log(astray / LOG_RANGE)
        top = logs.max(axis=2, keepdims=True)
        shares = np.exp(logs - top)
        shares /= shares.sum(axis=2, keepdims=True)
        weight = shares[..., :-1] * precision
        pull = weight.sum(axis=1)
        centre = ((weight * take.open_log_b).sum(axis=1) + (typical + gauge) * own) / (pull + own)
        sure = pull * own / (pull + own)
        gauge = (sure * (centre - typical)).sum(axis=1, keepdims=True)
        gauge /= sure.sum(axis=1, keepdims=True) + 1 / GAUGE_SPREAD**2
        lost = shares[..., -1].sum(axis=1)
        astray = ((lost + ASTRAY * ASTRAY_WEIGHT) / (notes + ASTRAY_WEIGHT))[:, None, None]
    unusual = (gauge[:, 0] / GAUGE_SPREAD) ** 2 + (((centre - typical - gauge) / spread) ** 2).sum(axis=1)
    return top[..., 0].sum(axis=1) - 0.5 * unusual, shares


def _weights(shares: Floats, playable: NDArray[np.bool_], told: Sequence[int], count: int) -> StringWeights:
    """Shares of the strings, what went astray spread evenly over those that can play the note."""
    flat = playable / playable.sum(axis=1, keepdims=True)
    weights = shares[:, :-1] + shares[:, -1:] * flat
    weights /= weights.sum(axis=1, keepdims=True)
    found: list[tuple[float, ...] | None] = [None] * count
    for row, index in enumerate(told):
        found[index] = tuple(float(weight) for weight in weights[row])
    return tuple(found)
