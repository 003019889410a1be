"""A passage as arrays a sound backend can play: one row of ticks a string, one table of strokes a string.

A tick is 64 samples (2.9 ms); strokes begin on ticks, so what is known about them is exact. A hammered or slid note
either turns the pitch of the stroke that is sounding or begins a soft one; the truth is the same.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.training.note_bank import RATE_HZ, Bank
from transcribe.training.strokes import FIELD, FIELDS, TICK, Floats, Instrument, stroke_row, tick_of
from transcribe.training.touches import Passage, Touch

TICKS = 1536  # in a clip: 4.46 s
CLIP_SAMPLES = TICK * TICKS
CLIP_S = CLIP_SAMPLES / RATE_HZ
STRINGS = 6
ROWS = STRINGS + 2  # two rows more for recorded noises
STROKES = 33  # a row; the first is silence
EVENTS = 80
HEARD_RISING = 0.3  # a swelling note is heard to begin at this part of its rise
EVENT_FIELDS = ("tick", "midi", "legato", "palm", "harmonic", "string")


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One clip: what each row does at each tick, and what a reader would write."""

    index: NDArray[np.int32]  # (ROWS, TICKS) stroke under way; 0 is silence
    strokes: Floats  # (ROWS, STROKES, fields)
    bend: Floats  # (ROWS, TICKS, 2) semitones from the stroke's pitch at the start and the end of a tick
    events: Floats  # (EVENTS, event fields); tick below 0 is unused


def write_sheet(passage: Passage, instrument: Instrument, bank: Bank, rng: np.random.Generator) -> Sheet:
    """Return the arrays of a passage on an instrument."""
    sheet = Sheet(
        np.zeros((ROWS, TICKS), np.int32),
        np.zeros((ROWS, STROKES, len(FIELDS)), np.float32),
        np.zeros((ROWS, TICKS, 2), np.float32),
        np.full((EVENTS, len(EVENT_FIELDS)), -1000.0, np.float32),
    )
    sheet.strokes[:, :, FIELD["zone_length"]] = 1.0
    events: list[tuple[float, ...]] = []
    for string in range(STRINGS):
        _write_string(sheet, string, passage, instrument, bank, rng, events)
    _write_noises(sheet, passage, bank, rng)
    for k, event in enumerate(sorted(events)[:EVENTS]):
        sheet.events[k] = event
    return sheet


def _write_string(
    sheet: Sheet,
    string: int,
    passage: Passage,
    instrument: Instrument,
    bank: Bank,
    rng: np.random.Generator,
    events: list[tuple[float, ...]],
) -> None:
    mine = [touch for touch in passage.touches if touch.string == string]
    edges = np.arange(TICKS + 1) * TICK / RATE_HZ
    stroke, base = 0, 0.0
    turns = bool(rng.random() < 0.5)  # legato by turning the pitch, or by a new soft stroke
    for k, touch in enumerate(mine):
        first, open_midi = tick_of(touch.at_s), passage.open_midi[string]
        if first >= TICKS - 2:
            break
        pitch = open_midi + touch.fret
        base_before = base
        fresh = stroke == 0 or touch.attack == "picked" or (touch.attack == "hammered" and not turns)
        if fresh and stroke + 1 < STROKES:
            stroke += 1
            base = pitch if touch.harmonic == 0 else open_midi
            sheet.index[string, first:] = stroke
            sheet.strokes[string, stroke] = stroke_row(touch, base, instrument, bank, rng)
        until_s = mine[k + 1].at_s if k + 1 < len(mine) else passage.length_s + 0.1
        last = min(TICKS, tick_of(until_s))
        wave = _curve(touch, edges[first : last + 1], rng) + (pitch - base if touch.harmonic == 0 else 0.0)
        sheet.bend[string, first:last, 0], sheet.bend[string, first:last, 1] = wave[:-1], wave[1:]
        if touch.glide_s > 0:
            _write_glide(sheet, string, touch, mine[k - 1] if k else None, open_midi - base_before)
        if stroke:
            sheet.strokes[string, stroke, FIELD["stop"]] = touch.until_s * RATE_HZ / TICK
        if touch.is_note:
            heard = base + (12 * np.log2(touch.harmonic) if touch.harmonic else float(wave[0]))
            legato, palm = float(touch.attack != "picked"), float(touch.mute == "palm")
            late = HEARD_RISING * sheet.strokes[string, stroke, FIELD["rise_s"]] * RATE_HZ / TICK if fresh else 0.0
            events.append((first + late, heard, legato, palm, float(touch.harmonic > 0), string))


def _curve(touch: Touch, times_s: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """Return semitones above the fret at each time: pushes, a vibrato, the frets a hand slides away over."""
    pushed = np.zeros(times_s.shape)
    was = 0.0
    for starts_s, over_s, to in touch.pushes:
        if over_s == 0:  # made before the pick: it is there from the first sample
            pushed = pushed + to
            was = to
            continue
        share = np.clip((times_s - starts_s) / over_s, 0, 1)
        smooth = share**3 * (10 - 15 * share + 6 * share**2)  # minimum jerk
        over = rng.normal(0, 0.04) * np.exp(-np.clip(times_s - starts_s - over_s, 0, None) / 0.08) * (share >= 1)
        pushed = np.where(times_s >= starts_s, was + (to - was) * smooth + over * (to > 0), pushed)
        was = to
    if touch.wave is not None:
        rate_hz, extent, begins_s = touch.wave
        since = np.clip(times_s - begins_s, 0, None)
        lean = float(rng.choice([0.0, 0.5, 1.0])) * (-1 if touch.pushes else 1)
        grown = np.clip(since / 0.2, 0, 1)
        pushed = pushed + extent * grown * (np.sin(2 * np.pi * rate_hz * since) + lean)
    pushed = np.maximum(pushed, -0.5)
    if touch.fall is not None:
        frets, over_s = touch.fall
        pushed = pushed - np.floor(np.clip(1 - (touch.until_s - times_s) / over_s, 0, 1) * frets)
    return np.asarray(pushed)


def _write_glide(sheet: Sheet, string: int, touch: Touch, before: Touch | None, shift: float) -> None:
    """Turn the pitch before a slide's arrival into the frets passed on the way, each for as long as the hand needs."""
    if before is None or touch.glide_s <= 0:
        return
    last = min(tick_of(touch.at_s), TICKS)
    first = max(tick_of(touch.at_s - touch.glide_s), tick_of(before.at_s) + 1)
    if last <= first:
        return
    share = (np.arange(first, last) - first + 1) / (last - first)
    frets = before.fret + np.sign(touch.fret - before.fret) * np.floor(share * abs(touch.fret - before.fret))
    sheet.bend[string, first:last, :] = (frets + shift)[:, None]


def _write_noises(sheet: Sheet, passage: Passage, bank: Bank, rng: np.random.Generator) -> None:
    """Recorded releases, brushes and squeaks: near the ends of touches, or anywhere."""
    noises = np.flatnonzero(bank.midi == 0)
    if noises.size == 0:
        return
    share, loud_db = float(rng.choice([0.0, 0.1, 0.4])), float(rng.uniform(-38, -14))
    moments = [t.until_s - abs(float(rng.normal(0, 0.03))) for t in passage.touches if rng.random() < share]
    moments += list(rng.uniform(0, passage.length_s, int(rng.poisson(0.7))))
    free = [0.0, 0.0]
    for at_s in sorted(m for m in moments if 0 < m < passage.length_s - 0.1):
        row = int(np.argmin(free))
        used = int(sheet.strokes[STRINGS + row, :, FIELD["level"]].astype(bool).sum())
        if free[row] > at_s or used + 1 >= STROKES:
            continue
        chosen, first = int(rng.choice(noises)), tick_of(at_s)
        seconds = float(bank.length[chosen]) / RATE_HZ
        free[row] = at_s + min(seconds, 0.3)
        sheet.index[STRINGS + row, first:] = used + 1
        stroke = sheet.strokes[STRINGS + row, used + 1]
        values = {
            "tick": first,
            "midi": 60.0 + float(rng.uniform(-4, 4)),
            "level": 10 ** ((loud_db + float(rng.normal(0, 4))) / 20) * 0.3 / max(float(bank.level[chosen]), 0.02),
            "stop": first + seconds * RATE_HZ / TICK,
            "damp": 50.0,
            "zone_start": float(bank.start[chosen]),
            "zone_length": float(bank.length[chosen]),
            "zone_midi": 60.0,
        }
        for name, value in values.items():
            stroke[FIELD[name]] = value
