"""One stroke on a string as a row of numbers: how it is set going, how it dies, which recorded note stands for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.training.note_bank import PALM_GUITAR, RATE_HZ, TOUCHED, Bank
from transcribe.training.touches import Touch

Floats = NDArray[np.float32]

TICK = 64  # samples
PARTIALS = 32  # of the string model
SIXTY_DB = float(np.log(1000.0))
# 60 dB decay times of a palm-muted and of a dead string
PALM_S, DEAD_S = (0.12, 0.6), (0.02, 0.07)
PICK_RISE_S, SOFT_RISE_S, GENTLE_S = 0.0012, 0.006, (0.008, 0.035)  # until a stroke is at full strength

FIELDS = (
    "tick", "midi", "level", "stop", "damp", "extra", "soft", "where", "heard", "stretch", "decay", "harmonic",
    "pick_noise", "stop_noise", "zone_start", "zone_length", "zone_midi", "skip", "is_note", "rise_s",
)  # fmt: skip
FIELD = {name: k for k, name in enumerate(FIELDS)}


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
    borrowed: float  # semitones from a note to the recorded one that stands for it: another string's timbre
    gentle: float  # share of picked notes that swell instead of bursting: flesh of a finger, volume rolled up


def drawn_instrument(rng: np.random.Generator, guitar: str | None) -> Instrument:
    """Return a random instrument: stretch and decay of typical electric, acoustic and nylon strings."""
    kind = rng.choice(["electric", "acoustic", "nylon"], p=[0.55, 0.3, 0.15])
    middle = {
        "electric": ((1.4e-5, 4.0e-5, 1.1e-4, 5.2e-5, 6.8e-5, 1.3e-4), (5.0, 10.0)),
        "acoustic": ((2.2e-5, 5.5e-5, 5.0e-5, 6.5e-5, 8.5e-5, 1.6e-4), (2.0, 6.0)),
        "nylon": ((3e-5, 6e-5, 1.2e-4, 4e-5, 6e-5, 1e-4), (1.2, 3.5)),
    }[str(kind)]
    cores = rng.normal(0, 0.2) * np.array([0, 0, 0, 1, 1, 1])  # one maker's wound strings are alike
    stretch = np.array(middle[0]) * np.exp(rng.normal(0, 0.15) + rng.normal(0, 0.08, 6) + cores)
    sustain = rng.uniform(*middle[1]) * np.linspace(0.75, 1.25, 6)
    return Instrument(
        guitar,
        tuple(stretch),
        tuple(sustain),
        pick=float(rng.uniform(0.06, 0.3)),
        noise_db=float(rng.uniform(-40, -8)),
        stop_noise_db=float(rng.uniform(-60, -18)),
        pickup=float(rng.uniform(0.05, 0.27)) if kind == "electric" else 0.0,
        borrowed=float(rng.uniform(-7, 7)) if rng.random() < 0.35 else 0.0,
        gentle=float(rng.choice([0.0, 0.1, 0.9], p=[0.7, 0.2, 0.1])),
    )


def tick_of(time_s: float) -> int:
    """Return the tick at which a moment lies."""
    return round(time_s * RATE_HZ / TICK)


def stroke_row(touch: Touch, base: float, instrument: Instrument, bank: Bank, rng: np.random.Generator) -> Floats:
    """Return the FIELDS of one stroke from the pitch ``base`` (a MIDI number), shape (fields,)."""
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
            bank,
            instrument.guitar,
            base + instrument.borrowed + (12 * np.log2(touch.harmonic) if touch.harmonic else 0),
            touch,
            rng,
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
