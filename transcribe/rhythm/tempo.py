"""Tempos worth trying for a take, from a first look at its onsets; ``beats`` then tries each in full."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.onsets import Moment
from transcribe.settings import RhythmSettings

Floats = NDArray[np.float64]

FEWEST_MOMENTS = 3  # two notes leave every tempo open
# Tempos tried because they are related to the best of the first look.
KIN = (2.0, 1 / 2, 3 / 2, 2 / 3, 4 / 3, 3 / 4, 3.0)
DOTTED_QUARTERS = 1.5  # in a dotted beat: quarters may go so much faster than beats
WINDOW_S = 6.0  # the first look takes the line in pieces this long, so that drift does no harm
PHASES = 32  # of a beat, tried in the first look
BINS = 128  # of a beat, for the likelihood of an onset there
# How often each place of a beat carries a note, for the first look: halves, quarters and thirds together.
FIRST_SHARES = {0.0: 0.65, 0.5: 0.45, 0.25: 0.1, 0.75: 0.1, 1 / 3: 0.05, 2 / 3: 0.07}
OFF_GRID = 1e-4  # likelihood of a note nowhere near the grid
STEP_ROOM_S = 0.006  # room for the steps between the tempos of the first look
FARTHEST_REFINED = 0.1  # share by which the onsets may correct a tempo


def tempo_candidates(heard: Sequence[Moment], settings: RhythmSettings) -> tuple[float, ...]:
    """Return tempos worth trying, in quarters a minute: peaks of the first look, best first, then kin of the best."""
    low, high = settings.slowest_bpm, settings.fastest_bpm
    tempos = low * 2.0 ** np.arange(0.0, math.log2(high / low) + 1e-9, 1 / 70)  # steps of 1 %
    costs = _first_look(heard, tempos)
    octaves = np.log2(tempos / settings.middle_bpm)
    costs += 0.5 * (octaves / settings.tempo_spread_octaves) ** 2
    padded = np.concatenate(([np.inf], costs, [np.inf]))
    peaks = np.flatnonzero((padded[1:-1] <= padded[:-2]) & (padded[1:-1] <= padded[2:]))
    order = [float(tempos[index]) for index in peaks[np.argsort(costs[peaks])]]
    chosen: list[float] = []
    for bpm in [*order[: settings.candidates], *(order[0] * kin for kin in KIN)]:
        new = all(abs(math.log(bpm / other)) > settings.tempo_error for other in chosen)
        if new and low <= bpm <= DOTTED_QUARTERS * high:
            chosen.append(bpm)
    return tuple(chosen)


def _first_look(heard: Sequence[Moment], tempos: Floats) -> Floats:
    """Return the cost in nats of each tempo, the phase left free in every window.

    Each onset is drawn from the places of a beat, and a beat without onsets costs too: otherwise the fastest tempo
    would always fit best.
    """
    empty = -sum(math.log(1 - share) for share in FIRST_SHARES.values())
    onsets = np.array([moment.onset_s for moment in heard])
    weights = np.array([moment.weight for moment in heard])
    spread_s = float(np.average([moment.jitter_s for moment in heard], weights=weights)) + STEP_ROOM_S
    unlikely = _unlikely(60.0 / tempos, spread_s)
    total = np.zeros_like(tempos)
    for start in np.arange(onsets[0], onsets[-1] + 1e-9, WINDOW_S):
        inside = (onsets >= start) & (onsets < start + WINDOW_S)
        if inside.sum() >= FEWEST_MOMENTS or start == onsets[0]:
            total += _window_costs(onsets[inside] - start, weights[inside], 60.0 / tempos, unlikely)
            total += empty * min(WINDOW_S, onsets[-1] - start) * tempos / 60.0
    return total


def _unlikely(quarter_s: Floats, spread_s: float) -> Floats:
    """Return minus the log likelihood of an onset in each bin of a beat, shape (tempos, BINS)."""
    bins = np.arange(BINS) / BINS
    likely = np.full((quarter_s.size, BINS), OFF_GRID)
    for place, share in FIRST_SHARES.items():
        off = (bins - place + 0.5) % 1.0 - 0.5
        likely += share * np.exp(-0.5 * (off * quarter_s[:, None] / spread_s) ** 2)
    return -np.log(likely)


def _window_costs(onsets: Floats, weights: Floats, quarter_s: Floats, unlikely: Floats) -> Floats:
    """Cost of the onsets of one window for each beat length, at the best phase."""
    at = np.round(onsets * BINS / quarter_s[:, None]).astype(np.int64)  # (tempos, onsets)
    phases = np.arange(0, BINS, BINS // PHASES)
    bins = (at[:, None, :] - phases[:, None]) % BINS
    costs = unlikely[np.arange(quarter_s.size)[:, None, None], bins] @ weights
    best: Floats = costs.min(axis=1)
    return best


def refined_tempo(heard: Sequence[Moment], places: Sequence[Fraction], bpm: float) -> float:
    """Return the tempo whose straight line runs nearest the onsets at their written places, near ``bpm``."""
    slope = _slope_s(heard, places)
    if not slope > 0:
        return bpm
    return float(np.clip(60.0 / slope, bpm * (1 - FARTHEST_REFINED), bpm * (1 + FARTHEST_REFINED)))


def _slope_s(heard: Sequence[Moment], places: Sequence[Fraction]) -> float:
    """Weighted least squares: seconds a quarter."""
    quarters = np.array([float(place) for place in places])
    onsets = np.array([moment.onset_s for moment in heard])
    weights = np.array([moment.weight / moment.jitter_s**2 for moment in heard])
    weights /= weights.sum()
    middle_q, middle_s = float(weights @ quarters), float(weights @ onsets)
    spread = float(weights @ (quarters - middle_q) ** 2)
    return float(weights @ ((quarters - middle_q) * (onsets - middle_s))) / spread if spread > 0 else 0.0
