"""The grid of a take: tempo, beat, bar lines and pickup, from its own note onsets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from transcribe.notes.note import Note
from transcribe.rhythm.bars import READING_SHARE, bar_lines, pickup_length
from transcribe.rhythm.follow import Reading, follow
from transcribe.rhythm.grid import pulse_beats, start_places
from transcribe.rhythm.onsets import Moment, moments
from transcribe.rhythm.rhythm import Meter, Rhythm, TempoSource
from transcribe.rhythm.swing import heard_feel, unswung
from transcribe.rhythm.tempo import FEWEST_MOMENTS, refined_tempo, tempo_readings
from transcribe.settings import RhythmSettings

FOUR_FOUR = Meter(4, 4)
OPENING_QUARTERS = 4.0  # the beat is laid through the notes of this opening; later ones may have drifted


def fit_rhythm(
    notes: Sequence[Note],
    settings: RhythmSettings | None = None,
    *,
    tempo_bpm: float | None = None,
    meter: Meter = FOUR_FOUR,
    first_downbeat_s: float | None = None,
) -> Rhythm:
    """Return the grid of a take: tempo (unless given), beat, bar lines, pickup and feel, fitted to the onsets.

    Tempos are compared by how cheaply every onset can be written (see ``follow``), with a mild preference near
    ``settings.middle_bpm``. Fewer than three moments tell no tempo: the middle one is assumed, the first note on the
    downbeat.

    >>> line = [Note(f"n{i}", 0.5 * i, 0.5 * i + 0.4, 60) for i in range(8)]
    >>> fit_rhythm(line, tempo_bpm=120).tempo_bpm
    120
    """
    settings = settings or RhythmSettings()
    source: TempoSource = "given" if tempo_bpm is not None else "estimated"
    heard = moments(notes, settings)
    few = len(heard) < FEWEST_MOMENTS
    if few and first_downbeat_s is None:
        start_s = heard[0].onset_s if heard else 0.0
        return Rhythm(tempo_bpm or settings.middle_bpm, meter, start_s, tempo_source=source)
    if tempo_bpm is None and few:
        tempo_bpm = settings.middle_bpm
    elif tempo_bpm is None:
        tempo_bpm = tempo_readings(heard, settings, meter=meter, downbeat_s=first_downbeat_s)[0].tempo_bpm
    steady = source == "given"
    if first_downbeat_s is None:
        reading, line = _with_bars(heard, tempo_bpm, settings, meter, steady)
        places = reading.places()
    else:  # bars before the one given are counted from the one the first note stands in
        places = follow(
            heard,
            quarter_s=60.0 / tempo_bpm,
            pulse=pulse_beats(meter),
            settings=settings,
            steady=steady,
            downbeat_s=first_downbeat_s,
        ).places()
        line = -_bars_early(places[0], meter) * meter.bar_beats
    if source == "estimated" and not few:
        tempo_bpm = refined_tempo(heard, places, tempo_bpm)
    quarter_s = 60.0 / tempo_bpm
    if first_downbeat_s is None:
        first_downbeat_s = _origin(heard, places, quarter_s)
    first_downbeat_s += float(line) * quarter_s
    feel = heard_feel(places, pulse_beats(meter))
    first = (unswung(places) if feel == "swing" else places)[0] - line
    return Rhythm(
        tempo_bpm=tempo_bpm,
        meter=meter,
        first_downbeat_s=first_downbeat_s,
        pickup_beats=pickup_length(first, meter),
        feel=feel,
        tempo_source=source,
    )


def _bars_early(first: Fraction, meter: Meter) -> int:
    """How many bars earlier bar 1 must begin so that no more than a pickup lies before it."""
    return max(0, math.floor(-first / meter.bar_beats))


def _with_bars(
    heard: Sequence[Moment], tempo_bpm: float, settings: RhythmSettings, meter: Meter, steady: bool
) -> tuple[Reading, Fraction]:
    """The best reading together with its first bar line; the first note may stand on any point of a beat."""
    pulse = pulse_beats(meter)
    best: tuple[float, Reading, Fraction] | None = None
    for start in start_places(pulse):
        reading = follow(
            heard,
            quarter_s=60.0 / tempo_bpm,
            pulse=pulse,
            settings=settings,
            steady=steady,
            start=start,
            beam=settings.quick_beam,
        )
        line, cost = bar_lines(heard, reading.places(), meter)[0]
        cost += READING_SHARE * reading.cost
        if best is None or cost < best[0]:
            best = (cost, reading, line)
    assert best is not None
    return best[1], best[2]


def _origin(heard: Sequence[Moment], places: Sequence[Fraction], quarter_s: float) -> float:
    """Return the time of place 0, laid through the opening notes."""
    quarters = np.array([float(place) for place in places])
    onsets = np.array([moment.onset_s for moment in heard])
    weights = np.array([moment.weight / moment.jitter_s for moment in heard])
    near = quarters <= quarters[0] + OPENING_QUARTERS
    return float(np.average(onsets[near] - quarters[near] * quarter_s, weights=weights[near]))
