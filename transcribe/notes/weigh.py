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
    """Return how likely the note is right, 0 to 1.

    A logistic fit to 1134 notes, 82 of them wrong, of random licks on sampled guitars (clean to driven, with echo,
    reverb and noise) and of the fixtures that tuning may see. Of the least sure twentieth 30 in 100 were right, of the
    surest third 99.7.
    """
    evidence = (
        -5.9
        + 4.0 * min(grounds.salience, 0.8)
        + 4.0 * grounds.strike
        + 2.6 * min(grounds.length_s, 0.15) / 0.15
        - 2.6 * min(max(grounds.octave, 0.0), 1.0)
        - 2.1 * min(grounds.unsteady_cents, 20.0) / 20.0
        - 2.3 * (1.0 - grounds.gestures)
        - 2.0 * max(0.0, min(grounds.softer_db, 40.0) - 12.0) / 10.0
        - 0.5 * max(0.0, min(grounds.off_cents, 50.0) - 15.0) / 10.0
    )
    return float(1.0 / (1.0 + np.exp(-evidence)))
