"""The player: random passages of everything a lead player, a strummer and a finger-picker do, the same for a seed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from transcribe.training.chords_played import chords
from transcribe.training.lines_played import line
from transcribe.training.pairs_played import double_stops, oblique
from transcribe.training.touches import HIGHEST_FRET, Passage, Touch, tuned, without_overlaps

Style = Callable[[np.random.Generator, float, float], list[Touch]]


def scattered(rng: np.random.Generator, start_s: float, end_s: float) -> list[Touch]:
    """Return notes anywhere on the neck at any time: no habit of music to lean on."""
    count = int(rng.integers(2, 18))
    moments = np.sort(rng.uniform(start_s, end_s, count))
    return [
        Touch(
            int(rng.integers(6)),
            int(rng.integers(0, HIGHEST_FRET + 1)),
            float(at_s),
            float(at_s + rng.uniform(0.08, 2.5)),
            level_db=float(rng.normal(0, 3)),
            damping_s=float(rng.uniform(0.03, 0.3)),
        )
        for at_s in moments
    ]


def silence(rng: np.random.Generator, start_s: float, end_s: float) -> list[Touch]:
    """Return nothing: rooms, hum and talk alone must not become notes."""
    return []


STYLES: dict[str, tuple[Style, float]] = {
    "line": (line, 0.35),
    "double stops": (double_stops, 0.18),
    "chords": (chords, 0.28),
    "oblique bends": (oblique, 0.12),
    "scattered": (scattered, 0.05),
    "silence": (silence, 0.02),
}


def passage(rng: np.random.Generator, *, length_s: float, style: str | None = None) -> Passage:
    """Return a few seconds of playing in one style (drawn by its share when None).

    Now and then the playing starts late or stops early, and an open string is set going by accident.
    """
    names = list(STYLES)
    name = style or str(rng.choice(names, p=[share for _, share in STYLES.values()]))
    start_s = float(rng.choice([0.0, 0.02, 0.3, 1.0], p=[0.12, 0.5, 0.28, 0.1])) * float(rng.uniform(0.3, 1.5))
    end_s = length_s if rng.random() < 0.8 else length_s * float(rng.uniform(0.4, 0.9))
    touches = STYLES[name][0](rng, start_s, end_s)
    if touches and rng.random() < 0.2:
        touches = touches + _accidents(rng, touches)
    return Passage(tuned(rng), without_overlaps(touches, rng, length_s), length_s)


def _accidents(rng: np.random.Generator, touches: list[Touch]) -> list[Touch]:
    """Open strings brushed softly near a pick, where the string is free; no notes."""
    found = []
    for touch in touches:
        string = touch.string + int(rng.choice([-1, 1]))
        if rng.random() > 0.15 or not 0 <= string < 6:
            continue
        if any(t.string == string and t.at_s - 0.1 < touch.at_s < t.until_s for t in touches):
            continue
        at_s = touch.at_s + abs(float(rng.normal(0, 0.01)))
        ends_s = at_s + float(rng.uniform(0.05, 0.6))
        found.append(Touch(string, 0, at_s, ends_s, level_db=-float(rng.uniform(20, 34)), is_note=False))
    return found
