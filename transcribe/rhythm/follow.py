"""Follow a line of onsets along a grid: each gets a written place while the beat is allowed to breathe.

Every living reading carries its own small Kalman filter (time of the last place, length of a tick), and the cheapest
reading for each place is kept. After A. T. Cemgil and B. Kappen, "Monte Carlo Methods for Tempo Tracking and Rhythm
Quantization", J. Artificial Intelligence Research 18, 2003 (cited from memory); a beam stands in for their particles.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.rhythm.grid import TICKS, Division, Place, division_cost, empty_cost, places
from transcribe.rhythm.onsets import Moment
from transcribe.settings import RhythmSettings

REACH = 0.36 * TICKS  # ticks around the expected place in which another is considered
WILD_NATS = 7.0  # a note may cost no more than this for standing off the grid
BREATH_S = 0.004  # how far a beat may shift by itself in a quarter, one standard deviation
START_COST = 1.5  # nats: a line that starts between beats


@dataclass(frozen=True, slots=True)
class Clock:
    """What a reading believes at one place: its time and the length of a tick, with their uncertainty."""

    time_s: float
    tick_s: float
    time_var: float
    cross_var: float
    tick_var: float

    @property
    def quarter_s(self) -> float:
        """Length of a quarter note in seconds, here."""
        return self.tick_s * TICKS

    def after(self, ticks: int, drift: float) -> Clock:
        """Return the belief some ticks later; ``drift`` is the share by which a tempo wanders in a quarter."""
        return Clock(
            self.time_s + self.tick_s * ticks,
            self.tick_s,
            self.time_var + ticks * (2 * self.cross_var + ticks * self.tick_var + BREATH_S**2 / TICKS),
            self.cross_var + ticks * self.tick_var,
            self.tick_var + (drift * self.tick_s) ** 2 * ticks / TICKS,
        )

    def heard(self, onset_s: float, jitter_s: float) -> Clock:
        """Return the belief after a note was heard here; one that is far off tells nothing about the beat."""
        miss, spread = onset_s - self.time_s, self.time_var + jitter_s**2
        if 0.5 * miss * miss > WILD_NATS * spread:
            return self
        gain_time, gain_tick = self.time_var / spread, self.cross_var / spread
        return Clock(
            self.time_s + gain_time * miss,
            self.tick_s + gain_tick * miss,
            self.time_var * (1 - gain_time),
            self.cross_var * (1 - gain_time),
            self.tick_var - gain_tick * self.cross_var,
        )


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to write the moments heard so far; ``before`` leads back to the first."""

    ticks: int  # from the first downbeat (or from a beat, while bars are unknown)
    division: Division  # how the last divided beat was divided
    divided: bool  # whether the beat of this place is the one divided so
    clock: Clock
    cost: float
    before: Reading | None

    def trail(self) -> tuple[Reading, ...]:
        """Return the reading at every moment, first to last."""
        found: list[Reading] = []
        step: Reading | None = self
        while step is not None:
            found.append(step)
            step = step.before
        return tuple(reversed(found))

    def places(self) -> tuple[Fraction, ...]:
        """Return the written place of every moment, in quarter notes."""
        return tuple(Fraction(step.ticks, TICKS) for step in self.trail())


def follow(
    heard: Sequence[Moment],
    *,
    quarter_s: float,
    pulse: Fraction,
    settings: RhythmSettings,
    steady: bool,
    downbeat_s: float | None = None,
    earliest: Fraction | None = None,
    start: int | None = None,
    beam: int | None = None,
) -> Reading:
    """Return the cheapest reading of the moments at about ``quarter_s`` seconds a quarter.

    ``steady`` says that this tempo was given, to a click perhaps, and wanders less than one that was found.

    Without ``downbeat_s`` the first moment may stand anywhere in a beat, or only ``start`` ticks into it, and places
    count from that beat. ``earliest`` is the first place that may be written. At least one moment is needed; places
    always increase strictly.
    """
    beat = int(pulse * TICKS)
    tick_s = quarter_s / TICKS
    ease = settings.steady_share if steady else 1.0
    tempo_error, drift = ease * settings.tempo_error, ease * settings.drift_a_quarter
    if downbeat_s is None:
        allowed = [place for place in places(beat) if start is None or place.ticks == start]
        living = _free_starts(heard[0], tick_s, allowed, tempo_error)
    else:
        before = None if earliest is None else int(earliest * TICKS) - 1
        living = _known_starts(heard[0], tick_s, beat, tempo_error, downbeat_s, before)
    for moment in heard[1:]:
        living = _advance(living, moment, beat, drift, beam or settings.beam)
    return min(living, key=lambda step: step.cost)


def _free_starts(first: Moment, tick_s: float, allowed: Sequence[Place], tempo_error: float) -> list[Reading]:
    clock = Clock(first.onset_s, tick_s, first.jitter_s**2, 0.0, (tempo_error * tick_s) ** 2)
    return [
        Reading(
            place.ticks,
            place.division or "halves",
            place.division is not None,
            clock,
            place.cost + (START_COST if place.division else 0.0),
            None,
        )
        for place in allowed
    ]


def _known_starts(
    first: Moment, tick_s: float, beat: int, tempo_error: float, downbeat_s: float, before: int | None
) -> list[Reading]:
    expected = (first.onset_s - downbeat_s) / tick_s
    near = _around(expected, before, beat)
    if not near and before is not None:  # heard before anything may be written
        near = _next_places(before, beat)
    found = []
    for at, place in near:
        believed = Clock(downbeat_s + at * tick_s, tick_s, first.jitter_s**2, 0.0, (tempo_error * tick_s) ** 2)
        miss = 0.25 * (first.onset_s - believed.time_s) ** 2 / first.jitter_s**2
        clock = believed.heard(first.onset_s, first.jitter_s)
        cost = place.cost + min(miss, WILD_NATS)
        found.append(Reading(at, place.division or "halves", place.division is not None, clock, cost, None))
    return found


def _advance(living: Sequence[Reading], moment: Moment, beat: int, drift: float, beam: int) -> list[Reading]:
    """Every living reading takes the next moment; the cheapest for each place and division live on."""
    best: dict[tuple[int, Division, bool], tuple[float, Reading]] = {}
    noise = moment.jitter_s**2
    for reading in living:
        clock = reading.clock
        expected = reading.ticks + (moment.onset_s - clock.time_s) / clock.tick_s
        for at, place in _legal(reading, expected, beat):
            step = at - reading.ticks
            miss = moment.onset_s - clock.time_s - clock.tick_s * step
            spread = noise + clock.time_var + step * (2 * clock.cross_var + step * clock.tick_var)
            division = place.division or reading.division
            cost = reading.cost + place.cost + min(0.5 * miss * miss / spread, WILD_NATS)
            cost += _passage_cost(reading, at, division, beat)
            key = (at, division, place.division is not None)
            if key not in best or cost < best[key][0]:
                best[key] = (cost, reading)
    cheapest = sorted(best.items(), key=lambda item: item[1][0])[:beam]
    return [
        Reading(
            at,
            division,
            divided,
            reading.clock.after(at - reading.ticks, drift).heard(moment.onset_s, moment.jitter_s),
            cost,
            reading,
        )
        for (at, division, divided), (cost, reading) in cheapest
    ]


def _passage_cost(reading: Reading, at: int, division: Division, beat: int) -> float:
    """What lies between two places: the choice of a new division, and the places left empty."""
    start = reading.ticks // beat * beat
    cost = 0.0
    if at % beat and not (reading.divided and at < start + beat):
        cost = division_cost(reading.division, division)
    now = reading.division if reading.divided else (division if at < start + beat else "halves")
    return cost + empty_cost(reading.ticks - start, now, at - start, division, beat)


def _legal(reading: Reading, expected: float, beat: int) -> list[tuple[int, Place]]:
    """Places later than the last that do not divide one beat in two ways; at least one."""
    near = _around(expected, reading.ticks, beat) or _next_places(reading.ticks, beat)
    if not reading.divided:
        return near
    end = reading.ticks // beat * beat + beat
    fitting = [(at, place) for at, place in near if at >= end or place.division == reading.division]
    return fitting or [(end, places(beat)[0])]


def _around(expected: float, after: int | None, beat: int) -> list[tuple[int, Place]]:
    """Places near an expected one and strictly after another."""
    low = expected - REACH if after is None else max(expected - REACH, after + 1)
    high = expected + REACH
    found = []
    for start in range(math.floor(low / beat) * beat, math.floor(high) + 1, beat):
        found += [(start + place.ticks, place) for place in places(beat) if low <= start + place.ticks <= high]
    return found


def _next_places(after: int, beat: int) -> list[tuple[int, Place]]:
    """The first places strictly after one, when the notes come faster than any written value."""
    start = after // beat * beat
    ahead = [(first + place.ticks, place) for first in (start, start + beat) for place in places(beat)]
    return [(at, place) for at, place in ahead if after < at <= after + TICKS // 4]
