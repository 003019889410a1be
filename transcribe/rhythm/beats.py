"""The grid of a take: tempo, beat, metre, bar lines, pickup and feel, from its own note onsets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np

from transcribe.notes.note import Note
from transcribe.rhythm.bars import pickup_length
from transcribe.rhythm.beat_times import BeatTimes, straightened
from transcribe.rhythm.features import as_places
from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.onsets import Moment, moments
from transcribe.rhythm.readings import BarReading, Told, read_bars
from transcribe.rhythm.rhythm import Feel, Meter, Rhythm, RhythmReading, TempoSource
from transcribe.rhythm.swing import heard_feel, unswung
from transcribe.rhythm.tempo import FEWEST_MOMENTS, refined_tempo
from transcribe.settings import RhythmSettings

FOUR_FOUR = Meter(4, 4)
OPENING_QUARTERS = 4.0  # the beat is laid through the notes of this opening; later ones may have drifted
SAME_TEMPO = 0.03  # share within which two readings have one tempo


def fit_rhythm(
    notes: Sequence[Note],
    settings: RhythmSettings | None = None,
    *,
    tempo_bpm: float | None = None,
    meter: Meter | None = None,
    first_downbeat_s: float | None = None,
    pickup_beats: Fraction | None = None,
    feel: Feel | None = None,
    beat_times: BeatTimes | None = None,
) -> Rhythm:
    """Return the grid of a take: all that is not told is fitted to the onsets, together (see ``readings``).

    ``beat_times`` are the beats of taps or of a click; they tell the tempo, and where a bar begins when the first of
    them is a downbeat. The other readings worth naming are kept in ``Rhythm.readings``. Fewer than three moments tell
    no tempo: the middle one is assumed, in 4/4 unless told, the first note on the downbeat.

    >>> line = [Note(f"n{i}", 0.5 * i, 0.5 * i + 0.4, 60) for i in range(8)]
    >>> fit_rhythm(line, tempo_bpm=120).tempo_bpm
    120.0
    """
    settings = settings or RhythmSettings()
    source: TempoSource = "given" if tempo_bpm is not None else "estimated"
    if beat_times is not None:
        source = beat_times.source
        if first_downbeat_s is None and beat_times.starts_bar:
            first_downbeat_s = beat_times.times_s[0]
    heard = moments(notes, settings)
    if beat_times is not None:
        heard = straightened(heard, beat_times)
    few = len(heard) < FEWEST_MOMENTS
    if few and first_downbeat_s is None:
        start_s = heard[0].onset_s if heard else 0.0
        bpm = tempo_bpm or (60.0 / beat_times.beat_s if beat_times else settings.middle_bpm)
        pickup = pickup_beats or Fraction(0)
        start_s += float(pickup) * 60.0 / bpm
        return _with_beats(
            Rhythm(bpm, meter or FOUR_FOUR, start_s, pickup, feel or "straight", tempo_source=source), beat_times
        )
    told = Told(
        tempo_bpm=settings.middle_bpm if tempo_bpm is None and beat_times is None and few else tempo_bpm,
        beat_s=beat_times.beat_s if beat_times is not None and tempo_bpm is None else None,
        meter=meter,
        downbeat_s=first_downbeat_s,
        pickup_beats=pickup_beats,
    )
    readings = read_bars(heard, settings, told)
    kept = _distinct([_reading(heard, one, told, source, feel) for one in readings[: settings.readings_looked_at]])
    best = kept[0]
    return _with_beats(
        Rhythm(
            tempo_bpm=best.tempo_bpm,
            meter=best.meter,
            first_downbeat_s=best.first_downbeat_s,
            pickup_beats=best.pickup_beats,
            feel=best.feel,
            tempo_source=source,
            readings=_worth_keeping(kept, settings),
        ),
        beat_times,
    )


def _worth_keeping(readings: Sequence[RhythmReading], settings: RhythmSettings) -> tuple[RhythmReading, ...]:
    """The likeliest readings, and of tempos that are not among them the likeliest one."""
    found = [one for one in readings[: settings.readings_kept] if one.likely >= settings.least_likely]
    for reading in readings:
        new = all(abs(math.log(reading.tempo_bpm / other.tempo_bpm)) > SAME_TEMPO for other in found)
        if new and reading.likely >= settings.least_likely_tempo:
            found.append(reading)
    return tuple(sorted(found, key=lambda one: -one.likely))


def _with_beats(rhythm: Rhythm, beat_times: BeatTimes | None) -> Rhythm:
    """The rhythm in the time of the take: bar 1 begins where the beats that are known say."""
    if beat_times is None:
        return rhythm
    heard_s = beat_times.heard(rhythm.first_downbeat_s)
    return replace(rhythm, first_downbeat_s=heard_s, beats_s=beat_times.times_s)


def _reading(
    heard: Sequence[Moment], found: BarReading, told: Told, source: TempoSource, feel: Feel | None
) -> RhythmReading:
    places = as_places(found.ticks)
    tempo_bpm = found.quarter_bpm
    if source == "estimated" and len(heard) >= FEWEST_MOMENTS:
        tempo_bpm = refined_tempo(heard, places, tempo_bpm)
    downbeat_s = told.downbeat_s
    if downbeat_s is None:
        downbeat_s = _origin(heard, places, 60.0 / tempo_bpm)
    else:
        downbeat_s += found.line / 24 * 60.0 / tempo_bpm
    felt = feel or heard_feel(places, pulse_beats(found.meter))
    first = (unswung(places) if felt == "swing" else places)[0]
    return RhythmReading(
        tempo_bpm=tempo_bpm,
        meter=found.meter,
        first_downbeat_s=downbeat_s,
        pickup_beats=told.pickup_beats if told.pickup_beats is not None else pickup_length(first, found.meter),
        feel=felt,
        likely=found.likely,
    )


def _distinct(readings: Sequence[RhythmReading]) -> list[RhythmReading]:
    """Readings with one tempo, metre and bar 1 become one, the likeliest, with their shares added up."""
    found: list[RhythmReading] = []
    for reading in readings:
        for index, other in enumerate(found):
            if _alike(reading, other):
                found[index] = replace(other, likely=min(1.0, other.likely + reading.likely))
                break
        else:
            found.append(reading)
    return sorted(found, key=lambda reading: -reading.likely)


def _alike(one: RhythmReading, other: RhythmReading) -> bool:
    apart_s = abs(one.first_downbeat_s - other.first_downbeat_s)
    return (
        one.meter == other.meter
        and abs(math.log(one.tempo_bpm / other.tempo_bpm)) < SAME_TEMPO
        and apart_s < 0.25 * 60.0 / other.tempo_bpm
    )


def _origin(heard: Sequence[Moment], places: Sequence[Fraction], quarter_s: float) -> float:
    """Return the time of place 0, laid through the opening notes."""
    quarters = np.array([float(place) for place in places])
    onsets = np.array([moment.onset_s for moment in heard])
    weights = np.array([moment.weight / moment.jitter_s for moment in heard])
    near = quarters <= quarters[0] + OPENING_QUARTERS
    return float(np.average(onsets[near] - quarters[near] * quarter_s, weights=weights[near]))
