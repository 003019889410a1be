"""Where the bars begin: which beat is the first of a bar, and whether the line starts with a pickup."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.onsets import Moment
from transcribe.rhythm.rhythm import Meter


def first_bar_line(heard: Sequence[Moment], places: Sequence[Fraction], meter: Meter) -> Fraction:
    """Return where bar 1 begins, in the count of ``places``: long and loud notes stand on strong beats.

    The line starts on bar 1 or with a pickup of up to half a bar; a later start is written as rests in bar 1.
    """
    pulse, bar = pulse_beats(meter), meter.bar_beats
    beats_a_bar = int(bar / pulse)
    base = math.floor(places[0] / pulse) * pulse
    costs = {base + index * pulse: 0.0 for index in range(-beats_a_bar + 1, beats_a_bar)}
    gaps = _gaps(heard, places)
    for line in costs:
        lead = places[0] - line  # below 0: a pickup
        if not -bar / 2 <= lead < bar / 2:
            costs[line] = math.inf
            continue
        costs[line] = _start_cost(lead, pulse)
        for moment, place, gap in zip(heard, places, gaps, strict=True):
            strength = beat_strength((place - line) % bar, meter)
            costs[line] -= 0.5 * moment.weight * strength * min(gap, 2.0)
    return min(costs, key=lambda line: (costs[line], abs(places[0] - line)))


def _start_cost(lead: Fraction, pulse: Fraction) -> float:
    if lead == 0:
        return 0.0
    if lead < 0:
        return 1.0 + 0.5 * float(-lead / pulse)
    return 2.0 + 0.5 * float(lead / pulse)


def _gaps(heard: Sequence[Moment], places: Sequence[Fraction]) -> list[float]:
    """Quarters from each moment to the next; the last lasts as long as it sounded, roughly."""
    gaps = [float(after - before) for before, after in pairwise(places)]
    return [*gaps, 2.0 if not gaps else max(gaps[-1], 1.0)]


def beat_strength(offset: Fraction, meter: Meter) -> float:
    """Return how strong a point of the bar is: 1 on the downbeat, less on other beats, 0 off the beat.

    >>> beat_strength(Fraction(2), Meter(4, 4))
    0.6
    """
    pulse = pulse_beats(meter)
    if offset == 0:
        return 1.0
    if offset % pulse:
        return 0.0
    beats = int(meter.bar_beats / pulse)
    return 0.6 if beats % 2 == 0 and offset * 2 == meter.bar_beats else 0.25


def pickup_length(first: Fraction, meter: Meter) -> Fraction:
    """Return how long the pickup bar must be for a first note at ``first`` quarters; 0 from bar 1 on.

    It begins on the eighth-note grid when the first note does, and on a beat otherwise.
    """
    if first >= 0:
        return Fraction(0)
    length = -first
    if length % Fraction(1, 4):
        pulse = pulse_beats(meter)
        length = math.ceil(length / pulse) * pulse
    return min(length, meter.bar_beats - Fraction(1, 4)) if length >= meter.bar_beats else length
