"""A tune as a hand plays it: unsteady onsets, a tempo that drifts, notes that end a little early. No sound is made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.note import Note
from transcribe.rhythm.grid import pulse_beats
from transcribe.training.lick import Lick
from transcribe.training.perform import Performance, perform
from transcribe.training.tunes import Tune

Floats = NDArray[np.float64]

JITTER_S = 0.015  # standard deviation of every onset
JITTER_LIMIT = 3.0  # standard deviations
HELD = (0.75, 1.0)  # share of its length that a note sounds
FIRST_S = 1.0  # when the first full bar would begin at the earliest
# Beats a minute are drawn around the middle of what is comfortable to walk to (from memory), no tune outside the range.
MIDDLE_BPM, SPREAD_OCTAVES, SLOWEST_BPM, FASTEST_BPM = 95.0, 0.33, 55.0, 165.0


def drawn_tempo_bpm(tune: Tune, rng: np.random.Generator) -> float:
    """Return a tempo for a tune in quarters a minute; what is drawn is its beat, dotted in 6/8 and 12/8."""
    beat = MIDDLE_BPM * 2.0 ** (SPREAD_OCTAVES * rng.standard_normal())
    return float(np.clip(beat, SLOWEST_BPM, FASTEST_BPM)) * float(pulse_beats(tune.meter))


def tune_notes(
    tune: Tune, bpm: float, rng: np.random.Generator, *, drift: float = 0.0, swing: float = 0.5
) -> tuple[Note, ...]:
    """Return the notes of a tune played once; the tempo wanders by ``drift`` (0.04: 4 %) in 16 to 32 beats.

    ``swing`` is where in its beat the second eighth is played: 0.5 even, 0.67 as in a triplet.
    """
    places = np.array([float(place) for place in tune.places])
    lengths = np.array([float(length) for length in tune.lengths])
    steady_s = _clock(bpm, drift, rng)

    def clock_s(quarters: Floats) -> Floats:
        return steady_s(swung(quarters, swing))

    shift_s = FIRST_S - float(clock_s(places[:1])[0])
    stray = np.clip(rng.standard_normal(places.size), -JITTER_LIMIT, JITTER_LIMIT) * JITTER_S
    onsets = clock_s(places) + shift_s + stray
    ends = clock_s(places + lengths * rng.uniform(*HELD, places.size)) + shift_s + stray
    onsets = np.maximum.accumulate(onsets + np.arange(onsets.size) * 1e-6)
    return tuple(
        Note(f"n{index + 1}", float(onset), float(max(end, onset + 0.03)), midi)
        for index, (onset, end, midi) in enumerate(zip(onsets, ends, tune.midis, strict=True))
    )


def swung(quarters: Floats, swing: float) -> Floats:
    """Return places as played when the middle of each beat is moved to ``swing``.

    >>> swung(np.array([0.0, 0.5, 1.25]), 0.6).tolist()
    [0.0, 0.6, 1.3]
    """
    beat, inside = np.divmod(quarters, 1.0)
    found: Floats = beat + np.where(inside < 0.5, 2 * swing * inside, swing + 2 * (1 - swing) * (inside - 0.5))
    return found


def lick_notes(lick: Lick, seed: int) -> tuple[tuple[Note, ...], tuple[Fraction, ...]]:
    """Return the notes of a lick as played once with 15 ms of jitter, and their written places from bar 1."""
    played = perform(replace(lick, seed=1000 + seed), jitter_s=JITTER_S)
    notes = tuple(
        Note(
            note.id,
            note.onset_s,
            note.offset_s,
            note.midi,
            level_db=note.level_db,
            attack=note.step.attack,
            mute=note.step.mute,
        )
        for note in played.notes
    )
    return notes, written_places(played)


def written_places(played: Performance) -> tuple[Fraction, ...]:
    """Return the places of a performance's notes, in quarters from the first full bar."""
    lick = played.lick
    return tuple(
        note.timing.beat - lick.pickup_beats
        if note.timing.bar == 0
        else (note.timing.bar - 1) * lick.meter.bar_beats + note.timing.beat
        for note in played.notes
    )


def _clock(bpm: float, drift: float, rng: np.random.Generator) -> Callable[[Floats], Floats]:
    """Return a function from quarters to seconds."""
    period, phase = float(rng.uniform(16.0, 32.0)), float(rng.uniform(0.0, 2 * np.pi))
    swing = drift * period / (2 * np.pi)
    return lambda quarters: (quarters + swing * np.sin(2 * np.pi * quarters / period + phase)) * 60.0 / bpm
