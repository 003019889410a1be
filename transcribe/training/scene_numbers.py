"""The numbers of one recording: body, amplifier, room, microphone and what else sounds; drawn at random."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.training.note_bank import RATE_HZ
from transcribe.training.strokes import PARTIALS

Scene = dict[str, NDArray[np.float32]]

BUMPS, AMPLIFIER_BUMPS, BODY_MODES, SYMPATHETIC = 4, 3, 6, 24
GRAINS = 1 << 21  # samples of noise kept once; every clip takes its own places in it
CURVE = 48  # points of a slow random curve over a clip
HUM_HARMONICS = 8


def draw(rng: np.random.Generator, open_midi: tuple[float, ...], *, electric: bool | None = None) -> Scene:
    """Return the numbers of one recording; the same for the same ``rng``. ``electric`` is drawn when None."""
    electric = bool(rng.random() < 0.6) if electric is None else electric

    log, sometimes = partial(_log, rng), partial(_sometimes, rng)
    body_db = rng.uniform(-26, 5) if not electric else rng.uniform(-60, -20)
    modes = np.array(
        [rng.uniform(88, 112), rng.uniform(180, 222), rng.uniform(230, 420), *np.exp(rng.uniform(6.0, 7.3, 3))]
    )
    partials = np.concatenate([440 * 2 ** ((np.array(open_midi) - 69) / 12) * n for n in range(1, 5)])
    driven = rng.random() < (0.6 if electric else 0.1)  # a box with a pickup can be overdriven too
    phone = rng.random() < 0.15
    dull = electric and not driven and rng.random() < 0.15  # the tone control turned down: hardly more than a sine
    made = {
        "grain": rng.integers(0, GRAINS, 4),
        "noise_tilt": rng.uniform(-0.8, 0.8),
        "noise_fade_s": log(0.002, 0.012),
        "thump": rng.uniform(0, 6) if not electric else rng.uniform(0, 1),
        "body_hz": modes,
        "body_gain": 10 ** (body_db / 20) * rng.uniform(0.3, 1.0, BODY_MODES) * np.array([1, 1, 0.7, 0.5, 0.4, 0.3]),
        "body_s": rng.uniform(0.06, 0.35, BODY_MODES) * np.array([1, 0.8, 0.7, 0.5, 0.4, 0.3]),
        "sympathy_hz": partials,
        "sympathy_gain": np.tile(sometimes(0.5, 10 ** (rng.uniform(-60, -38) / 20)), SYMPATHETIC)
        * rng.uniform(0.2, 1, SYMPATHETIC),
        "bump_hz": np.exp(rng.uniform(np.log(80), np.log(8000), BUMPS)),
        "bump_db": rng.normal(0, 5, BUMPS),
        "bump_octaves": rng.uniform(0.3, 1.5, BUMPS),
        "tilt_db": rng.normal(0, 1.5),
        "high_pass_hz": log(150, 420) if phone else log(20, 90),
        "low_pass_hz": log(700, 2500) if dull else log(3200, 8000) if phone else log(3500, 11000),
        **_amplifier(rng, driven=driven),
        **_effects(rng, open_midi, electric=electric),
        "compress": sometimes(0.35, rng.uniform(0.1, 0.7)),
        "room_s": log(0.08, 1.3),
        "room_gain": sometimes(0.75, 10 ** (rng.uniform(-34, -4) / 20)),
        "echo_s": log(0.09, 0.7),
        "echo_gain": sometimes(0.3, 10 ** (rng.uniform(-22, -5) / 20)),
        "echo_again": rng.uniform(0.0, 0.55),
        "echo_hz": log(1200, 8000),
        "hiss_db": sometimes(0.85, -rng.uniform(18, 75), -95.0),
        "hiss_tilt": rng.uniform(-1.2, 0.4),
        "hum_hz": rng.choice([50.0, 60.0]) * (1 + rng.normal(0, 0.001)),
        "hum_db": sometimes(0.15, -rng.uniform(22, 60), -120.0),
        "hum_shape": rng.uniform(0, 1, HUM_HARMONICS) ** 2,
        "talk_db": sometimes(0.1, -rng.uniform(8, 40), -120.0),
        "talk_pitch": 2 ** (np.log2(rng.uniform(85, 240)) + np.cumsum(rng.normal(0, 0.06, CURVE))),
        "talk_level": np.clip(np.repeat(rng.uniform(-1, 1, CURVE // 2), 2) + rng.normal(0, 0.3, CURVE), 0, None),
        "formant_hz": np.array([rng.uniform(300, 800), rng.uniform(900, 2200), rng.uniform(2300, 3200)]),
        "swell_db": sometimes(0.2, 1.0) * np.cumsum(rng.normal(0, 0.5, CURVE)),
        "click_db": sometimes(0.1, -rng.uniform(6, 30), -120.0),
        "guitar": [
            rng.uniform(-0.35, 0.5),
            log(900, 4000),
            rng.uniform(0, 0.5),
            rng.uniform(0.2, 2.5),
            rng.uniform(0, 2.5),
        ],
        "chance": rng.random((PARTIALS + 1, 2)),
        "level": 10 ** (rng.uniform(-34, 0) / 20),
    }
    return {name: np.asarray(value, np.float32) for name, value in made.items()}


def _effects(rng: np.random.Generator, open_midi: tuple[float, ...], *, electric: bool) -> dict[str, Any]:
    """The numbers of what mixes or sways the sound: a second pickup, a chorus, a tremolo."""
    log, sometimes = partial(_log, rng), partial(_sometimes, rng)
    return {
        # two pickups at once, or a pick elsewhere than in the recorded notes: a second hearing of each string
        "second_gain": sometimes(0.45, rng.uniform(0.4, 0.9) * rng.choice([-1.0, 1.0])),
        "second_delay": RATE_HZ / (440 * 2 ** ((np.array(open_midi) - 69) / 12)) * rng.uniform(0.04, 0.5),
        "chorus_gain": sometimes(0.12 if electric else 0.03, rng.uniform(0.2, 1.0)),
        "chorus_s": log(0.005, 0.03),
        "chorus_hz": log(0.2, 3.0),
        "tremolo": sometimes(0.06 if electric else 0.02, rng.uniform(0.2, 0.9)),
        "tremolo_hz": log(2.5, 9.0),
    }


def _log(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def _sometimes(rng: np.random.Generator, chance: float, value: float, otherwise: float = 0.0) -> float:
    return value if rng.random() < chance else otherwise


def _amplifier(rng: np.random.Generator, *, driven: bool) -> Scene:
    """The numbers of a distortion, its tone stack and loudspeaker; of none when not ``driven``."""
    if not driven:
        nothing = np.ones(AMPLIFIER_BUMPS)
        tone = {"amplifier_hz": 1000 * nothing, "amplifier_db": 0 * nothing, "amplifier_octaves": nothing}
        return (
            tone
            | {name: np.zeros(()) for name in ("drive", "tight_hz", "hard", "lean")}
            | {"cabinet_hz": np.full((), 2e4)}
        )
    tight, hard, leans = rng.random(3) < (0.6, 0.5, 0.3)
    return {
        "drive": np.exp(rng.uniform(np.log(0.7), np.log(30))),
        # basses are taken out before the distortion
        "tight_hz": np.exp(rng.uniform(np.log(30), np.log(700))) * tight,
        "hard": rng.uniform(0, 1) * hard,  # share of a clip with corners
        # a clip that leans makes even partials: the second can stand out of an overdriven note
        "lean": rng.uniform(-1, 1) * (1.0 if leans else 0.25),
        "amplifier_hz": np.exp(rng.uniform(np.log(90), np.log(4000), AMPLIFIER_BUMPS)),
        "amplifier_db": rng.normal(0, 5, AMPLIFIER_BUMPS),
        "amplifier_octaves": rng.uniform(0.3, 1.2, AMPLIFIER_BUMPS),
        "cabinet_hz": np.exp(rng.uniform(np.log(3000), np.log(6000))),
    }
