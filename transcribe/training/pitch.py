"""The pitch of a sounding string through a chain of notes, moment by moment."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.training.perform import Chain, Played

Floats = NDArray[np.float64]
STEP_S = 0.007  # from one fret to the next when a finger lands or leaves
FRET_CROSSING_S = 0.006  # the same inside a slide


def smooth(done: Floats) -> Floats:
    """Return how far along a movement of the hand is, 0 to 1, with minimum jerk; ``done`` is the part of its time gone.

    T. Flash and N. Hogan, "The coordination of arm movements", J. Neuroscience 5, 1985.
    """
    x = np.clip(done, 0.0, 1.0)
    return x**3 * (10.0 - 15.0 * x + 6.0 * x * x)


def fretted_midi(chain: Chain, times_s: Floats) -> Floats:
    """Return the fretted pitch at each time, shape (n,): steps at hammer-ons and pull-offs, staircases in slides."""
    midi = np.full(times_s.shape, float(chain.notes[0].midi))
    for note, after in zip(chain.notes, (*chain.notes[1:], None), strict=True):
        slide, over_s = note.step.slide, note.step.slide_s
        if slide == "in":
            midi += _staircase(times_s, -note.step.slide_frets, note.onset_s, over_s, arriving=True)
        if slide == "out":
            midi += _staircase(times_s, note.step.slide_frets, note.offset_s - over_s, over_s)
        if after is None:
            continue
        interval = after.midi - note.midi
        if slide in ("legato", "shift"):
            midi += _staircase(times_s, interval, after.onset_s - over_s, over_s)
        else:
            midi += interval * smooth((times_s - after.onset_s) / STEP_S)
    return midi


def _staircase(times_s: Floats, frets: int, start_s: float, over_s: float, *, arriving: bool = False) -> Floats:
    """Return semitones passed, fret by fret; ``arriving``: counted down to 0 instead of up from 0."""
    count = abs(frets)
    crossings = start_s + over_s * (np.arange(count) + 0.5) / count
    width_s = min(FRET_CROSSING_S, 0.9 * over_s / count)
    passed = sum(smooth((times_s - at_s) / width_s + 0.5) for at_s in crossings)
    return np.sign(frets) * ((count - passed) if arriving else passed)


def pushed_cents(note: Played, times_s: Floats) -> Floats:
    """Return how far the string is pushed above its fretted pitch during one note, in cents, shape (n,)."""
    cents = np.zeros(times_s.shape)
    level = 0.0
    for move in note.movements:
        if move.kind == "pre-bend":
            cents += move.reached_cents
        else:
            width_s = max(move.reach_s - move.start_s, 1e-3)
            cents += (move.reached_cents - level) * smooth((times_s - move.start_s) / width_s)
        level = move.reached_cents
    wave = note.step.vibrato
    if wave is not None:
        start_s = note.onset_s + wave.at * (note.offset_s - note.onset_s)
        since = np.maximum(times_s - start_s, 0.0)
        size = wave.extent_cents * smooth(since / (0.5 / wave.rate_hz))
        phase = -np.arcsin(np.clip(wave.lean, -1, 1))  # starts where the finger stands
        cents += size * (np.sin(2 * np.pi * wave.rate_hz * since + phase) + wave.lean)
    return cents


def sounding(chain: Chain, times_s: Floats) -> tuple[Floats, Floats]:
    """Return (fretted MIDI pitch, cents pushed above it) at each time, both shape (n,), local tuning in the cents."""
    cents = np.zeros(times_s.shape)
    for index, note in enumerate(chain.notes):
        first = -np.inf if index == 0 else note.onset_s
        last = np.inf if index == len(chain.notes) - 1 else note.offset_s
        inside = (times_s >= first) & (times_s < last)
        cents[inside] = note.cents + pushed_cents(note, times_s[inside])
    return fretted_midi(chain, times_s), cents
