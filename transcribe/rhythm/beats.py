"""The tempo, the beat and the bar lines of a take, from its own note onsets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.note import Note
from transcribe.rhythm.follow import Reading, follow
from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.onsets import Moment, moments
from transcribe.rhythm.rhythm import Meter, Rhythm
from transcribe.settings import RhythmSettings

FOUR_FOUR = Meter(4, 4)
KIN = (Fraction(2), Fraction(1, 2), Fraction(3, 2), Fraction(2, 3), Fraction(4, 3), Fraction(3, 4), Fraction(3))
WINDOW_S = 6.0  # the first look at the tempo takes the line in pieces this long, so that drift does no harm
FEWEST_MOMENTS = 3  # two notes leave every tempo open


@dataclass(frozen=True, slots=True)
class TempoReading:
    """A tempo that was tried, how it writes the take, and its cost in nats (lower fits better)."""

    tempo_bpm: float  # quarter notes a minute
    places: tuple[Fraction, ...]  # one a moment, in quarters from some beat
    cost: float


def fit_rhythm(
    notes: Sequence[Note],
    settings: RhythmSettings | None = None,
    *,
    tempo_bpm: float | None = None,
    meter: Meter = FOUR_FOUR,
    first_downbeat_s: float | None = None,
) -> Rhythm:
    """Return the grid of a take: tempo (unless given), beat, bar lines and pickup, fitted to the onsets.

    Tempos are compared by how cheaply every onset can be written (see ``follow``), with a mild preference near
    ``settings.middle_bpm``. Fewer than three moments cannot tell a tempo: the middle one is assumed.

    >>> line = [Note(f"n{i}", 0.5 * i, 0.5 * i + 0.4, 60) for i in range(8)]
    >>> fit_rhythm(line, tempo_bpm=120).tempo_bpm
    120
    """
    settings = settings or RhythmSettings()
    heard = moments(notes, settings)
    given = tempo_bpm is not None
    if not heard:
        return Rhythm(
            tempo_bpm or settings.middle_bpm,
            meter,
            first_downbeat_s or 0.0,
            tempo_source="given" if given else "estimated",
        )
    if tempo_bpm is None:
        readings = tempo_readings(heard, settings, meter=meter, downbeat_s=first_downbeat_s)
        tempo_bpm = readings[0].tempo_bpm if readings else settings.middle_bpm
    reading = _read(heard, tempo_bpm, settings, meter, first_downbeat_s, steady=given)
    if not given and len(heard) >= FEWEST_MOMENTS:
        tempo_bpm = _refined(heard, reading.places(), tempo_bpm)
    if first_downbeat_s is None:
        origin_s = _origin(heard, reading, 60.0 / tempo_bpm)
        shift = first_bar_line(heard, reading.places(), meter)
        first_downbeat_s = origin_s + float(shift) * 60.0 / tempo_bpm
        first = reading.places()[0] - shift
    else:
        first = reading.places()[0]
        bars_early = max(0, math.ceil(-first / meter.bar_beats) - 1) if first < 0 else 0
        if first + bars_early * meter.bar_beats <= -meter.bar_beats:
            bars_early += 1
        first_downbeat_s -= float(bars_early * meter.bar_beats) * 60.0 / tempo_bpm
        first += bars_early * meter.bar_beats
    return Rhythm(
        tempo_bpm=tempo_bpm,
        meter=meter,
        first_downbeat_s=first_downbeat_s,
        pickup_beats=pickup_length(first, meter),
        tempo_source="given" if given else "estimated",
    )


def pickup_length(first: Fraction, meter: Meter) -> Fraction:
    """Return how long the pickup bar must be for a first note at ``first`` quarters; 0 from bar 1 on.

    It begins on the eighth-note grid when the first note does, and on a beat otherwise.
    """
    if first >= 0:
        return Fraction(0)
    length = -first
    if length % Fraction(1, 4):
        pulse = pulse_beats(meter)
        length = math.ceil(length / pulse) * pulse
    return min(length, meter.bar_beats - Fraction(1, 4)) if length >= meter.bar_beats else length


def tempo_readings(
    heard: Sequence[Moment],
    settings: RhythmSettings,
    *,
    meter: Meter = FOUR_FOUR,
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
        reading = _read(heard, bpm, settings, meter, downbeat_s, steady=False, beam=settings.quick_beam)
        places = reading.places()
        refined = _refined(heard, places, bpm)
        found.append(
            TempoReading(refined, places, reading.cost + _preference(bpm, settings.middle_bpm * factor, settings))
        )
    return tuple(sorted(found, key=lambda reading: reading.cost))


def _read(
    heard: Sequence[Moment],
    bpm: float,
    settings: RhythmSettings,
    meter: Meter,
    downbeat_s: float | None,
    *,
    steady: bool,
    beam: int | None = None,
) -> Reading:
    return follow(
        heard,
        quarter_s=60.0 / bpm,
        pulse=pulse_beats(meter),
        settings=settings,
        tempo_error=settings.tempo_error * (0.3 if steady else 1.0),
        downbeat_s=downbeat_s,
        beam=beam,
    )


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
        wanted.append(order[0] * float(kin))
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
    shares = {0.0: 0.65, 0.5: 0.45, 0.25: 0.1, 0.75: 0.1, 1 / 3: 0.05, 2 / 3: 0.07}
    empty = -sum(math.log(1 - share) for share in shares.values())
    onsets = np.array([moment.onset_s for moment in heard])
    weights = np.array([moment.weight for moment in heard])
    spread = np.array([moment.jitter_s for moment in heard]) + 0.006  # room for the steps between tempos
    quarter_s = 60.0 / tempos
    phases = np.arange(32) / 32
    total = np.zeros_like(tempos)
    start = onsets[0]
    while True:
        inside = (onsets >= start) & (onsets < start + WINDOW_S)
        if inside.sum() >= FEWEST_MOMENTS or start == onsets[0]:
            beats = (onsets[inside] - start)[None, None, :] / quarter_s[:, None, None] - phases[None, :, None]
            likely = np.full(beats.shape, 1e-4)
            for place, share in shares.items():
                miss = beats - place
                miss = (miss - np.round(miss)) * quarter_s[:, None, None] / spread[inside]
                likely += share * np.exp(-0.5 * miss * miss)
            costs = -(np.log(likely) * weights[inside]).sum(axis=2)
            length_s = min(WINDOW_S, onsets[-1] - start)
            total += costs.min(axis=1) + empty * length_s / quarter_s
        start += WINDOW_S
        if start > onsets[-1]:
            return total


def _refined(heard: Sequence[Moment], places: Sequence[Fraction], bpm: float) -> float:
    """Return the tempo whose straight line runs nearest the onsets at their written places, within 6 % of ``bpm``."""
    slope = _line(heard, places)[0]
    if not slope > 0:
        return bpm
    return float(np.clip(60.0 / slope, bpm * 0.94, bpm * 1.06))


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


def _origin(heard: Sequence[Moment], reading: Reading, quarter_s: float) -> float:
    """Return the time of place 0, from the first few notes: later ones may have drifted from a steady tempo."""
    places = np.array([float(place) for place in reading.places()])
    onsets = np.array([moment.onset_s for moment in heard])
    weights = np.array([moment.weight / moment.jitter_s for moment in heard])
    near = places <= places[0] + 4.0
    return float(np.average(onsets[near] - places[near] * quarter_s, weights=weights[near]))


def first_bar_line(heard: Sequence[Moment], places: Sequence[Fraction], meter: Meter) -> Fraction:
    """Return where bar 1 begins, in the count of ``places``: long and loud notes stand on strong beats.

    The line starts on bar 1 or with a pickup of up to half a bar; a later start is written as rests in bar 1.
    """
    pulse, bar = pulse_beats(meter), meter.bar_beats
    beats_a_bar = int(bar / pulse)
    base = math.floor(places[0] / pulse) * pulse
    costs = {base + index * pulse: 0.0 for index in range(-beats_a_bar + 1, beats_a_bar)}
    gaps = _gaps(heard, places)
    for line in costs:
        lead = places[0] - line  # below 0: a pickup
        if not -bar / 2 <= lead < bar / 2:
            costs[line] = math.inf
            continue
        costs[line] = _start_cost(lead, pulse)
        for moment, place, gap in zip(heard, places, gaps, strict=True):
            strength = beat_strength((place - line) % bar, meter)
            costs[line] -= 0.5 * moment.weight * strength * min(gap, 2.0)
    return min(costs, key=lambda line: (costs[line], abs(places[0] - line)))


def _start_cost(lead: Fraction, pulse: Fraction) -> float:
    if lead == 0:
        return 0.0
    if lead < 0:
        return 1.0 + 0.5 * float(-lead / pulse)
    return 2.0 + 0.5 * float(lead / pulse)


def _gaps(heard: Sequence[Moment], places: Sequence[Fraction]) -> list[float]:
    """Quarters from each moment to the next; the last lasts as long as it sounded, roughly."""
    gaps = [float(after - before) for before, after in pairwise(places)]
    return [*gaps, 2.0 if not gaps else max(gaps[-1], 1.0)]


def beat_strength(offset: Fraction, meter: Meter) -> float:
    """Return how strong a point of the bar is: 1 on the downbeat, less on other beats, 0 off the beat.

    >>> beat_strength(Fraction(2), Meter(4, 4))
    0.6
    """
    pulse = pulse_beats(meter)
    if offset == 0:
        return 1.0
    if offset % pulse:
        return 0.0
    beats = int(meter.bar_beats / pulse)
    return 0.6 if beats % 2 == 0 and offset * 2 == meter.bar_beats else 0.25
