"""Where in a beat a note may be written, and how unusual each place is.

Inside this room places are counted in ticks, 24 to a quarter note, so that halves down to 32nds and triplets down to
sixteenths are whole numbers. A beat is divided in halves, in quarters or in thirds; a division tends to last.
The shares are our own round numbers, in the spirit of the metrical model of D. Temperley, "Music and Probability",
MIT Press 2007, ch. 3 (cited from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Literal

from transcribe.rhythm.rhythm import Meter

Division = Literal["halves", "quarters", "thirds"]
DIVISIONS: tuple[Division, ...] = ("halves", "quarters", "thirds")
TICKS = 24  # a quarter note

ON_BEAT = 0.72  # how often a beat carries a note
# How often each place of a beat carries one, by its division; offsets in shares of the beat's main part.
HALFWAY = {"halves": 0.5, "quarters": 0.6}
QUARTERWAY = 0.5
RARE = 0.01  # 32nds, and sixteenths within a triplet
THIRDS = (0.45, 0.75)  # a long-short swing is commoner than short-long
# How often a beat divided one way is followed by each division, in the order of DIVISIONS.
FOLLOWS: dict[Division, tuple[float, float, float]] = {
    "halves": (0.80, 0.12, 0.08),
    "quarters": (0.32, 0.63, 0.05),
    "thirds": (0.33, 0.07, 0.60),
}


@dataclass(frozen=True, slots=True)
class Place:
    """A point of a beat."""

    ticks: int  # from the start of the beat
    division: Division | None  # None on the beat itself, where nothing is told yet
    cost: float  # nats: minus the logarithm of how often a note stands here


def pulse_beats(meter: Meter) -> Fraction:
    """Return the length of one felt beat in quarter notes: a dotted quarter in 6/8, 9/8 and 12/8.

    >>> pulse_beats(Meter(6, 8)), pulse_beats(Meter(3, 4))
    (Fraction(3, 2), Fraction(1, 1))
    """
    if meter.unit >= 8 and meter.beats % 3 == 0 and meter.beats >= 6:
        return Fraction(12, meter.unit)
    return Fraction(1) if meter.unit <= 4 else Fraction(4, meter.unit)


@cache
def places(pulse: int) -> tuple[Place, ...]:
    """Return every place of a beat of ``pulse`` ticks, in order."""
    found = [Place(0, None, -math.log(ON_BEAT))]
    for division in DIVISIONS:
        found += [Place(at, division, -math.log(share)) for at, share in _shares(pulse, division).items()]
    return tuple(sorted(found, key=lambda place: (place.ticks, place.division or "")))


@cache
def start_places(pulse: Fraction) -> tuple[int, ...]:
    """Return the points of a beat, in ticks, where a line may begin: all but 32nds and parts of triplets.

    >>> start_places(Fraction(3, 2))
    (0, 6, 12, 18, 24, 30)
    """
    least = -math.log(2 * RARE)
    return tuple(sorted({place.ticks for place in places(int(pulse * TICKS)) if place.cost < least}))


@cache
def _shares(pulse: int, division: Division) -> dict[int, float]:
    """How often each place within the beat carries a note."""
    if division == "thirds":
        if pulse not in (TICKS, TICKS // 2):
            return {}
        third, sixth = pulse // 3, pulse // 6
        return {third: THIRDS[0], 2 * third: THIRDS[1]} | {at: RARE for at in (sixth, 3 * sixth, 5 * sixth)}
    main = _main_part(pulse)
    shares = {at: HALFWAY[division] for at in range(main, pulse, main)}
    if division == "quarters" and main >= 6:
        shares |= {at: QUARTERWAY for at in range(main // 2, pulse, main)}
        if main >= 12:
            shares |= {at: RARE for at in range(main // 4, pulse, main // 2)}
    return shares


def _main_part(pulse: int) -> int:
    """The first division of a beat: halves of a plain one, thirds of a dotted one."""
    return pulse // 3 if pulse % 9 == 0 else pulse // 2


def division_cost(before: Division, now: Division) -> float:
    """Return what it costs, in nats, to divide a beat this way after the last divided one."""
    return -math.log(FOLLOWS[before][DIVISIONS.index(now)])


@cache
def empty_cost(start: int, start_division: Division, end: int, end_division: Division, pulse: int) -> float:
    """Return what it costs, in nats, that no note stands strictly between two places, in ticks.

    ``start`` lies in its first beat (0 to ``pulse``); the divisions are those of the two beats. Beats passed over
    count as divided in halves.

    >>> round(empty_cost(0, "halves", 24, "halves", 24), 3)  # the half of one beat: -log(1 - 0.5)
    0.693
    """
    beats = end // pulse
    if beats == 0:
        return empty_inside(start_division, start, end, pulse)
    cost = empty_inside(start_division, start, pulse, pulse)
    on_beat = -math.log(1 - ON_BEAT)
    cost += (beats - 1) * (on_beat + empty_inside("halves", 0, pulse, pulse))
    if end % pulse:
        cost += on_beat + empty_inside(end_division, 0, end % pulse, pulse)
    return cost


def empty_inside(division: Division, start: int, end: int, pulse: int) -> float:
    """Return what it costs, in nats, that no note stands strictly between two ticks of one beat."""
    shares = _shares(pulse, division)
    return -sum(math.log(1 - share) for at, share in shares.items() if start < at < end)
