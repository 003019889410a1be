"""A passage as arrays a sound backend can play: one row of ticks a string, one table of strokes a string.

A tick is 64 samples (2.9 ms); strokes begin on ticks, so what is known about them is exact. A hammered or slid note
either turns the pitch of the stroke that is sounding or begins a soft one; the truth is the same.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.training.note_bank import PALM_GUITAR, RATE_HZ, TOUCHED, Bank
from transcribe.training.touches import Passage, Touch

Floats = NDArray[np.float32]

TICK = 64  # samples
TICKS = 1536  # in a clip: 4.46 s
CLIP_SAMPLES = TICK * TICKS
CLIP_S = CLIP_SAMPLES / RATE_HZ
STRINGS = 6
ROWS = STRINGS + 2  # two rows more for recorded noises
STROKES = 33  # a row; the first is silence
EVENTS = 80
PARTIALS = 32  # of the string model
SIXTY_DB = float(np.log(1000.0))
# 60 dB decay times of a palm-muted and of a dead string
PALM_S, DEAD_S = (0.12, 0.6), (0.02, 0.07)
PICK_RISE_S, SOFT_RISE_S, GENTLE_S = 0.0012, 0.006, (0.008, 0.035)  # until a stroke is at full strength
HEARD_RISING = 0.3  # a swelling note is heard to begin at this part of its rise

FIELDS = (
    "tick", "midi", "level", "stop", "damp", "extra", "soft", "where", "heard", "stretch", "decay", "harmonic",
    "pick_noise", "stop_noise", "zone_start", "zone_length", "zone_midi", "skip", "is_note", "rise_s",
)  # fmt: skip
FIELD = {name: k for k, name in enumerate(FIELDS)}
EVENT_FIELDS = ("tick", "midi", "legato", "palm", "harmonic", "string")


@dataclass(frozen=True, slots=True)
class Instrument:
    """What every stroke of one clip shares."""

    guitar: str | None  # of the bank; None plays the string model
    stretch: tuple[float, ...]  # B of the open strings
    sustain_s: tuple[float, ...]  # 60 dB decay of the open strings
    pick: float  # where along the open string the pick strikes
    noise_db: float  # of a pick against its note
    stop_noise_db: float
    pickup: float  # where along the open string it is heard; 0 at the bridge, through a body
    gentle: float  # share of picked notes that swell instead of bursting: flesh of a finger, volume rolled up


def drawn_instrument(rng: np.random.Generator, guitar: str | None) -> Instrument:
    """Return a random instrument: stretch and decay of typical electric, acoustic and nylon strings."""
    kind = rng.choice(["electric", "acoustic", "nylon"], p=[0.55, 0.3, 0.15])
    middle = {
        "electric": ((1.4e-5, 4.0e-5, 1.1e-4, 5.2e-5, 6.8e-5, 1.3e-4), (5.0, 10.0)),
        "acoustic": ((2.2e-5, 5.5e-5, 5.0e-5, 6.5e-5, 8.5e-5, 1.6e-4), (2.0, 6.0)),
        "nylon": ((3e-5, 6e-5, 1.2e-4, 4e-5, 6e-5, 1e-4), (1.2, 3.5)),
    }[str(kind)]
    stretch = np.array(middle[0]) * np.exp(rng.normal(0, 0.15) + rng.normal(0, 0.08, 6))
    sustain = rng.uniform(*middle[1]) * np.linspace(0.75, 1.25, 6)
    return Instrument(
        guitar,
        tuple(stretch),
        tuple(sustain),
        pick=float(rng.uniform(0.06, 0.3)),
        noise_db=float(rng.uniform(-40, -8)),
        stop_noise_db=float(rng.uniform(-60, -18)),
        pickup=float(rng.uniform(0.05, 0.27)) if kind == "electric" else 0.0,
        gentle=float(rng.choice([0.0, 0.1, 0.9], p=[0.7, 0.2, 0.1])),
    )


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


def tick_of(time_s: float) -> int:
    """Return the tick at which a moment lies."""
    return round(time_s * RATE_HZ / TICK)


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
        fresh = stroke == 0 or touch.attack == "picked" or (touch.attack == "hammered" and not turns)
        if fresh and stroke + 1 < STROKES:
            stroke += 1
            base = pitch if touch.harmonic == 0 else open_midi
            sheet.index[string, first:] = stroke
            sheet.strokes[string, stroke] = _stroke(touch, base, instrument, bank, rng)
        until_s = mine[k + 1].at_s if k + 1 < len(mine) else passage.length_s + 0.1
        last = min(TICKS, tick_of(until_s))
        wave = _curve(touch, edges[first : last + 1], rng) + (pitch - base if touch.harmonic == 0 else 0.0)
        sheet.bend[string, first:last, 0], sheet.bend[string, first:last, 1] = wave[:-1], wave[1:]
        if touch.attack == "slid":
            _write_glide(sheet, string, touch, mine[k - 1] if k else None, open_midi - base)
        if stroke:
            sheet.strokes[string, stroke, FIELD["stop"]] = touch.until_s * RATE_HZ / TICK
        if touch.is_note:
            heard = base + (12 * np.log2(touch.harmonic) if touch.harmonic else float(wave[0]))
            legato, palm = float(touch.attack != "picked"), float(touch.mute == "palm")
            late = HEARD_RISING * sheet.strokes[string, stroke, FIELD["rise_s"]] * RATE_HZ / TICK if fresh else 0.0
            events.append((first + late, heard, legato, palm, float(touch.harmonic > 0), string))


def _curve(touch: Touch, times_s: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """Return semitones above the fret at each time: pushes with a little overshoot, and the wave of a vibrato."""
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
    return np.asarray(np.maximum(pushed, -0.5))


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


def _stroke(touch: Touch, base: float, instrument: Instrument, bank: Bank, rng: np.random.Generator) -> Floats:
    row = np.zeros(len(FIELDS), np.float32)
    fret = touch.fret if touch.harmonic == 0 else 0
    soft = touch.attack != "picked"
    level = 10 ** ((touch.level_db - (3.0 if soft else 0.0)) / 20)
    extra = 0.0
    if touch.mute != "none":
        extra = SIXTY_DB / float(rng.uniform(*(PALM_S if touch.mute == "palm" else DEAD_S)))
    values = {
        "tick": tick_of(touch.at_s),
        "midi": base,
        "level": level,
        "stop": touch.until_s * RATE_HZ / TICK,
        "damp": SIXTY_DB / touch.damping_s,
        "extra": extra,
        "soft": float(soft),
        "where": min(0.5, instrument.pick * 2 ** (fret / 12) * float(np.exp(rng.normal(0, 0.12)))),
        "heard": min(0.5, instrument.pickup * 2 ** (fret / 12)),
        "stretch": instrument.stretch[touch.string] * 2 ** (fret / 6),
        "decay": SIXTY_DB / (instrument.sustain_s[touch.string] * 2 ** (-fret / 24)),
        "harmonic": touch.harmonic,
        "pick_noise": 10 ** (instrument.noise_db / 20)
        * (0.1 if soft else 1.0)
        * (3.0 if touch.mute == "dead" else 1.0),
        "stop_noise": 10 ** (instrument.stop_noise_db / 20) * float(rng.random() < 0.7),
        "is_note": float(touch.is_note),
        "rise_s": _rise_s(rng, soft=soft, gentle=instrument.gentle),
    }
    if instrument.guitar is not None:
        values |= _zone(
            bank, instrument.guitar, base + (12 * np.log2(touch.harmonic) if touch.harmonic else 0), touch, rng
        )
        if touch.harmonic:
            values |= {"midi": base + 12 * np.log2(touch.harmonic), "harmonic": 1.0}
    for name, value in values.items():
        row[FIELD[name]] = value
    return row


def _rise_s(rng: np.random.Generator, *, soft: bool, gentle: float) -> float:
    """Seconds until a stroke is at full strength."""
    if rng.random() < gentle:
        return float(np.exp(rng.uniform(np.log(GENTLE_S[0]), np.log(GENTLE_S[1]))))
    return SOFT_RISE_S if soft else PICK_RISE_S


def _zone(bank: Bank, guitar: str, midi: float, touch: Touch, rng: np.random.Generator) -> dict[str, float]:
    """Choose one of the recorded notes nearest in pitch."""
    if touch.mute == "palm" and PALM_GUITAR in bank.playable and rng.random() < 0.4:
        guitar = PALM_GUITAR
    if touch.harmonic and f"{guitar}{TOUCHED}{touch.harmonic}" in bank.guitars:
        guitar = f"{guitar}{TOUCHED}{touch.harmonic}"
    mine = np.flatnonzero((bank.guitar == bank.guitars.index(guitar)) & (bank.midi > 0))
    away = np.abs(bank.midi[mine] - midi)
    near = mine[away <= away.min() + (1.2 if rng.random() < 0.3 else 0.2)]
    chosen = int(rng.choice(near))
    skip = float(rng.uniform(0.03, 0.15)) * RATE_HZ if touch.attack != "picked" else 0.0
    return {
        "level": 10 ** (touch.level_db / 20) * 0.12 / max(float(bank.level[chosen]), 0.02),
        "zone_start": float(bank.start[chosen]),
        "zone_length": float(bank.length[chosen]),
        "zone_midi": float(bank.midi[chosen]),
        "skip": skip,
    }


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
