"""Fitting of Odds: curves that only rise or only fall, and how far the learned probabilities can be believed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.odds import Curve, Odds

Floats = NDArray[np.float64]

PULL = 0.5  # each step of a curve is drawn to nothing with this weight, in notes
BINS = 15  # of the calibration error, as in its source
CATCH = 0.8  # share of the wrong notes that doubts should catch, at least
FREELY, MOST = 0.05, 0.08  # share of the right notes that may be marked for more, and at all


@dataclass(frozen=True, slots=True)
class Shape:
    """Where a ground's curve may turn, and which way it runs: 1 rises, -1 falls, 0 as it likes."""

    at: tuple[float, ...]
    runs: int


@dataclass(frozen=True, slots=True)
class Reliability:
    """Notes in bins of confidence: mean confidence, share right, and how many."""

    bins: tuple[tuple[float, float, int], ...]

    @property
    def error(self) -> float:
        """Expected calibration error: C. Guo et al., "On Calibration of Modern Neural Networks", ICML 2017."""
        total = sum(count for _, _, count in self.bins)
        return sum(count * abs(told - right) for told, right, count in self.bins) / max(1, total)


def fitted(
    rows: Sequence[Mapping[str, float]],
    right: Sequence[bool],
    shapes: Mapping[str, Shape],
) -> Odds:
    """Return curves fitted by penalised likelihood, each keeping its direction; doubted below one half.

    ``rows`` hold every ground of ``shapes``. The whole fit has one minimum.
    """
    from scipy.optimize import minimize

    names = list(shapes)
    parts = [_steps(np.array([row[name] for row in rows], dtype=float), shapes[name].at) for name in names]
    facts = np.concatenate([np.ones((len(rows), 1)), *parts], axis=1)
    truth = np.asarray(right, dtype=float)
    bounds: list[tuple[float | None, float | None]] = [(None, None)]
    for name, part in zip(names, parts, strict=True):
        way = shapes[name].runs
        bounds += [(0.0 if way > 0 else None, 0.0 if way < 0 else None)] * part.shape[1]

    def loss(weights: Floats) -> tuple[float, Floats]:
        evidence = facts @ weights
        told = 1.0 / (1.0 + np.exp(-np.clip(evidence, -40, 40)))
        size = float((np.logaddexp(0.0, evidence) - truth * evidence).sum()) + PULL * float((weights[1:] ** 2).sum())
        return size, facts.T @ (told - truth) + 2 * PULL * np.concatenate([[0.0], weights[1:]])

    weights = minimize(loss, np.zeros(facts.shape[1]), jac=True, bounds=bounds, method="L-BFGS-B").x
    curves, used = {}, 1
    for name, part in zip(names, parts, strict=True):
        steps = weights[used : used + part.shape[1]]
        used += part.shape[1]
        adds = np.concatenate([[0.0], np.cumsum(steps)])
        curves[name] = Curve(shapes[name].at, tuple(round(float(add), 2) for add in adds))
    return Odds(round(float(weights[0]), 2), curves, 0.5)


def _steps(values: Floats, at: Sequence[float]) -> Floats:
    low, high = np.array(at[:-1]), np.array(at[1:])
    return np.asarray(np.clip((values[:, None] - low) / (high - low), 0.0, 1.0))


def told_by_others(
    rows: Sequence[Mapping[str, float]],
    right: Sequence[bool],
    groups: Sequence[str],
    shapes: Mapping[str, Shape],
) -> Floats:
    """Return each row's probability by the curves of all groups but its own, shape (n_rows,)."""
    told = np.zeros(len(rows))
    for group in sorted(set(groups)):
        others = [k for k, name in enumerate(groups) if name != group] or list(range(len(rows)))
        odds = fitted([rows[k] for k in others], [right[k] for k in others], shapes)
        for k, name in enumerate(groups):
            if name == group:
                told[k] = odds.of(rows[k])
    return told


def reliability(told: Sequence[float] | Floats, right: Sequence[bool]) -> Reliability:
    """Return the notes in BINS equal bins of confidence, empty ones left out."""
    values, truth = np.asarray(told, dtype=float), np.asarray(right, dtype=bool)
    places = np.minimum((values * BINS).astype(int), BINS - 1)
    found = [(values[places == k], truth[places == k]) for k in range(BINS)]
    return Reliability(tuple((float(v.mean()), float(t.mean()), int(v.size)) for v, t in found if v.size))


def doubt_threshold(told: Floats, right: Sequence[bool] | NDArray[np.bool_]) -> float:
    """Return the confidence below which notes are doubted.

    It catches CATCH of the wrong notes, or more while that marks no more than FREELY of the right ones; never does it
    mark more than MOST of these.
    """
    truth = np.asarray(right, dtype=bool)
    wrong, marked = told[~truth], told[truth]
    if wrong.size == 0 or marked.size == 0:
        return 0.5
    catching = float(np.quantile(wrong, CATCH))
    freely, most = float(np.quantile(marked, FREELY)), float(np.quantile(marked, MOST))
    return float(np.clip(np.round(min(max(catching + 0.0005, freely), most), 4), 0.05, 0.998))
