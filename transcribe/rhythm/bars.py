"""How long the pickup bar is."""

from __future__ import annotations

import math
from fractions import Fraction

from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.rhythm import Meter


def pickup_length(first: Fraction, meter: Meter) -> Fraction:
    """Return how long the pickup bar must be for a first note at ``first`` quarters; 0 from bar 1 on.

    It begins with the first note when that stands on a sixteenth, and on the beat before it otherwise.

    >>> pickup_length(Fraction(-1, 2), Meter(4, 4)), pickup_length(Fraction(-1, 3), Meter(4, 4))
    (Fraction(1, 2), Fraction(1, 1))
    """
    length = max(-first, Fraction(0))
    if length % Fraction(1, 4):
        pulse = pulse_beats(meter)
        length = math.ceil(length / pulse) * pulse
    return min(length, meter.bar_beats - Fraction(1, 4))
