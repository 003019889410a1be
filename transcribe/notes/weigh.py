"""How sure each note is: what speaks for it, and one number from all of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Grounds:
    """What speaks for and against one note."""

    salience: float  # middle of the map's salience along the note, 0 to 1
    strike: float  # likelihood of the pick that began it; for a legato note how plain the change of pitch was; 0 to 1
    length_s: float
    octave: float  # evidence that an octave below is sounding: 0 none, 1 as much as for a real one
    unsteady_cents: float  # how far the pitch strays around its holds
    gestures: float  # how plain bends and slides were, 0 to 1
    softer_db: float  # how far below the loudest notes of the take
    off_cents: float  # distance of the resting pitch from the nearest semitone


def confidence_of(grounds: Grounds) -> float:
    """Return how likely the note is right, 0 to 1: a logistic fit to right and wrong notes of known licks."""
    evidence = (
        -1.6
        + 3.0 * min(grounds.salience, 0.8)
        + 2.6 * grounds.strike
        + 2.0 * min(grounds.length_s, 0.15) / 0.15
        - 2.2 * min(max(grounds.octave, 0.0), 1.0)
        - 0.03 * min(grounds.unsteady_cents, 40.0)
        + 0.8 * (grounds.gestures - 0.5)
        - 0.05 * max(0.0, grounds.softer_db - 12.0)
        - 0.03 * max(0.0, grounds.off_cents - 15.0)
    )
    return float(1.0 / (1.0 + np.exp(-evidence)))
