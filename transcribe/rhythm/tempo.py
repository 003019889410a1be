"""The tempo of a take, from its own note onsets: several are tried in full, the cheapest to write wins."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.follow import follow
from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.onsets import Moment
from transcribe.rhythm.rhythm import Meter
from transcribe.settings import RhythmSettings

FEWEST_MOMENTS = 3  # two notes leave every tempo open
# Tempos tried because they are related to the best of the first look.
KIN = (2.0, 1 / 2, 3 / 2, 2 / 3, 4 / 3, 3 / 4, 3.0)
WINDOW_S = 6.0  # the first look takes the line in pieces this long, so that drift does no harm
PHASES = 32  # of a beat, tried in the first look
# How often each place of a beat carries a note, for the first look: halves, quarters and thirds together.
FIRST_SHARES = {0.0: 0.65, 0.5: 0.45, 0.25: 0.1, 0.75: 0.1, 1 / 3: 0.05, 2 / 3: 0.07}
OFF_GRID = 1e-4  # likelihood of a note nowhere near the grid
STEP_ROOM_S = 0.006  # room for the steps between the tempos of the first look
FARTHEST_REFINED = 0.06  # share by which the onsets may correct a tempo


@dataclass(frozen=True, slots=True)
class TempoReading:
    """A tempo that was tried, how it writes the take, and its cost in nats (lower fits better)."""

    tempo_bpm: float  # quarter notes a minute
    places: tuple[Fraction, ...]  # one a moment, in quarters from some beat
    cost: float


def tempo_readings(
    heard: Sequence[Moment],
    settings: RhythmSettings,
    *,
    meter: Meter,
    downbeat_s: float | None = None,
) -> tuple[TempoReading, ...]:
    """Return the tempos that were tried in full, best first; none when fewer than three moments were heard."""
    if len(heard) < FEWEST_MOMENTS:
        return ()
    pulse = pulse_beats(meter)
    factor = float(max(pulse, Fraction(1)))  # in 6/8 the felt beat is a dotted quarter
    low, high = settings.slowest_bpm * factor, settings.fastest_bpm * factor
    found = []
    for bpm in _candidates(heard, settings, low, high, factor):
        reading = follow(
            heard,
            quarter_s=60.0 / bpm,
            pulse=pulse,
            settings=settings,
            steady=False,
            downbeat_s=downbeat_s,
            beam=settings.quick_beam,
        )
        places = reading.places()
        refined = refined_tempo(heard, places, bpm)
        found.append(
            TempoReading(refined, places, reading.cost + _preference(bpm, settings.middle_bpm * factor, settings))
        )
    return tuple(sorted(found, key=lambda reading: reading.cost))


def _preference(bpm: float, middle_bpm: float, settings: RhythmSettings) -> float:
    octaves = math.log2(bpm / middle_bpm)
    return 0.5 * (octaves / settings.tempo_spread_octaves) ** 2


def _candidates(
    heard: Sequence[Moment], settings: RhythmSettings, low: float, high: float, factor: float
) -> list[float]:
    """Peaks of the first look, and tempos related to the best by small numbers."""
    tempos = low * 2.0 ** np.arange(0.0, math.log2(high / low) + 1e-9, 1 / 70)  # steps of 1 %
    costs = _first_look(heard, tempos, settings)
    costs += np.array([_preference(bpm, settings.middle_bpm * factor, settings) for bpm in tempos])
    padded = np.concatenate(([np.inf], costs, [np.inf]))
    peaks = np.flatnonzero((padded[1:-1] <= padded[:-2]) & (padded[1:-1] <= padded[2:]))
    order = [float(tempos[index]) for index in peaks[np.argsort(costs[peaks])]]
    wanted = order[: settings.candidates]
    for kin in KIN:
        wanted.append(order[0] * kin)
    chosen: list[float] = []
    for bpm in wanted:
        if low <= bpm <= high and all(abs(math.log(bpm / other)) > settings.tempo_error for other in chosen):
            chosen.append(bpm)
    return chosen


def _first_look(heard: Sequence[Moment], tempos: NDArray[np.float64], settings: RhythmSettings) -> NDArray[np.float64]:
    """Return the cost in nats of each tempo, the phase left free in every window.

    Each onset is drawn from the places of a beat, and a beat without onsets costs too: otherwise the fastest tempo
    would always fit best.
    """
    empty = -sum(math.log(1 - share) for share in FIRST_SHARES.values())
    onsets = np.array([moment.onset_s for moment in heard])
    weights = np.array([moment.weight for moment in heard])
    spread = np.array([moment.jitter_s for moment in heard]) + STEP_ROOM_S
    total = np.zeros_like(tempos)
    for start in np.arange(onsets[0], onsets[-1] + 1e-9, WINDOW_S):
        inside = (onsets >= start) & (onsets < start + WINDOW_S)
        if inside.sum() >= FEWEST_MOMENTS or start == onsets[0]:
            costs = _window_costs(onsets[inside] - start, weights[inside], spread[inside], 60.0 / tempos)
            total += costs + empty * min(WINDOW_S, onsets[-1] - start) * tempos / 60.0
    return total


def _window_costs(
    onsets: NDArray[np.float64],
    weights: NDArray[np.float64],
    spread: NDArray[np.float64],
    quarter_s: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Cost of the onsets of one window for each beat length, at the best phase."""
    phases = np.arange(PHASES) / PHASES
    beats = onsets[None, None, :] / quarter_s[:, None, None] - phases[None, :, None]
    likely = np.full(beats.shape, OFF_GRID)
    for place, share in FIRST_SHARES.items():
        miss = beats - place
        miss = (miss - np.round(miss)) * quarter_s[:, None, None] / spread
        likely += share * np.exp(-0.5 * miss * miss)
    costs: NDArray[np.float64] = -(np.log(likely) * weights).sum(axis=2)
    return costs.min(axis=1)


def refined_tempo(heard: Sequence[Moment], places: Sequence[Fraction], bpm: float) -> float:
    """Return the tempo whose straight line runs nearest the onsets at their written places, near ``bpm``."""
    slope = _line(heard, places)[0]
    if not slope > 0:
        return bpm
    return float(np.clip(60.0 / slope, bpm * (1 - FARTHEST_REFINED), bpm * (1 + FARTHEST_REFINED)))


def _line(heard: Sequence[Moment], places: Sequence[Fraction]) -> tuple[float, float]:
    """Weighted least squares: seconds a quarter, and the time of place 0."""
    quarters = np.array([float(place) for place in places])
    onsets = np.array([moment.onset_s for moment in heard])
    weights = np.array([moment.weight / moment.jitter_s**2 for moment in heard])
    weights /= weights.sum()
    middle_q, middle_s = float(weights @ quarters), float(weights @ onsets)
    spread = float(weights @ (quarters - middle_q) ** 2)
    slope = float(weights @ ((quarters - middle_q) * (onsets - middle_s))) / spread if spread > 0 else 0.0
    return slope, middle_s - slope * middle_q
