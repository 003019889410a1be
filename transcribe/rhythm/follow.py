"""Follow a line of onsets along a grid: each gets a written place while the beat is allowed to breathe.

Every living reading carries its own small Kalman filter (time of the last place, length of a tick), and the cheapest
reading for each place is kept. After A. T. Cemgil and B. Kappen, "Monte Carlo Methods for Tempo Tracking and Rhythm
Quantization", J. Artificial Intelligence Research 18, 2003 (cited from memory); a beam stands in for their particles.
Several guesses of tempo, beat and start are followed side by side, as rows of the same arrays.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.grid import TICKS
from transcribe.rhythm.lattice import KINDS, Floats, Ints, Lattice, lattice, state_of
from transcribe.rhythm.onsets import Moment
from transcribe.settings import RhythmSettings

REACH = 0.36 * TICKS  # ticks around the expected place in which another is considered
QUICKEST = TICKS // 4  # ticks after the last place searched when notes come faster than any written value
WILD_NATS = 7.0  # a note may cost no more than this for standing off the grid
BREATH_S = 0.004  # how far a beat may shift by itself in a quarter, one standard deviation
LOST_COST = 12.0  # nats: to be pushed to the next beat although nothing sounded near it
# Places of one beat and a half, at most, lie within reach of one that is expected.
PLACES_IN_REACH = np.arange(14)
START_COST = 1.5  # nats: a line that starts between beats


@dataclass(frozen=True, slots=True)
class Guess:
    """A tempo and beat to follow the notes with."""

    quarter_s: float
    pulse: Fraction  # length of a beat in quarters
    start: int | None = None  # ticks into its beat at which the line starts; None leaves it open
    downbeat_s: float | None = None  # when place 0 sounds, if known
    earliest: Fraction | None = None  # first place that may be written; only with downbeat_s


@dataclass(frozen=True, slots=True)
class Followed:
    """How one guess writes the moments, and how well the beat was kept."""

    guess: Guess
    ticks: tuple[int, ...]  # of each moment, from place 0
    times_s: tuple[float, ...]  # when the beat says each place sounds
    quarters_s: tuple[float, ...]  # length of a quarter there
    cost: float  # nats

    def places(self) -> tuple[Fraction, ...]:
        """Return the written place of every moment, in quarter notes."""
        return tuple(Fraction(tick, TICKS) for tick in self.ticks)


@dataclass(frozen=True, slots=True)
class Living:
    """Readings still alive, arrays of shape (guesses, beam); the last five are the belief of a Kalman filter."""

    beat: Ints  # counted from place 0
    tick: Ints  # within that beat
    division: Ints  # how the last divided beat was divided
    divided: NDArray[np.bool_]  # whether the beat of this place is the one divided so
    cost: Floats
    before: Ints  # row of the reading it follows
    time_s: Floats  # of this place
    tick_s: Floats  # length of a tick
    time_var: Floats
    cross_var: Floats
    tick_var: Floats


def follow(
    heard: Sequence[Moment], guesses: Sequence[Guess], settings: RhythmSettings, *, steady: bool, beam: int
) -> tuple[Followed, ...]:
    """Return for each guess the cheapest reading of the moments; at least one moment is needed.

    ``steady`` says that the tempo was given, and so is known better at the start than one that was found. Without
    ``downbeat_s`` the first moment may stand anywhere in a beat, or only at ``start``, and places count from that beat.
    Places always increase strictly.
    """
    tempo_error = settings.tempo_error * (settings.steady_share if steady else 1.0)
    tables = lattice(tuple(sorted({int(guess.pulse * TICKS) for guess in guesses})))
    rows = np.searchsorted(tables.pulse, [int(guess.pulse * TICKS) for guess in guesses])
    living = _starts(heard[0], guesses, tables, rows, tempo_error)
    steps = [living]
    for moment in heard[1:]:
        closing = heard[-1].onset_s - moment.onset_s < settings.closing_s
        drift = settings.closing_drift if closing else settings.drift_a_quarter
        living = _advance(living, moment, tables, rows, drift, beam)
        steps.append(living)
    return _traced(guesses, steps)


def _starts(first: Moment, guesses: Sequence[Guess], tables: Lattice, rows: Ints, tempo_error: float) -> Living:
    """Every place the first moment may stand on."""
    options = [_allowed_starts(first, guess, tables, row) for guess, row in zip(guesses, rows, strict=True)]
    shape = (len(guesses), max(map(len, options)))
    beat, place = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    cost, time_s = np.full(shape, np.inf), np.full(shape, first.onset_s)
    tick_s = np.repeat([[guess.quarter_s / TICKS] for guess in guesses], shape[1], axis=1)
    for index, (guess, found) in enumerate(zip(guesses, options, strict=True)):
        for option, (at_beat, at_place) in enumerate(found):
            beat[index, option], place[index, option] = at_beat, at_place
            cost[index, option] = tables.start[rows[index], at_place]
            tick = at_beat * tables.pulse[rows[index]] + tables.ticks[rows[index], at_place]
            if guess.downbeat_s is None:
                cost[index, option] += START_COST if tick else 0.0
                continue
            expected_s = guess.downbeat_s + tick * guess.quarter_s / TICKS
            miss = 0.25 * (first.onset_s - expected_s) ** 2 / first.jitter_s**2
            cost[index, option] += min(miss, WILD_NATS)
            # half way between where the grid says and where it was heard
            time_s[index, option] = expected_s if miss > WILD_NATS else 0.5 * (expected_s + first.onset_s)
    known = np.array([[guess.downbeat_s is not None] for guess in guesses])
    column = tables.column[rows[:, None], place]
    return Living(
        beat=beat,
        tick=tables.ticks[rows[:, None], place],
        division=column % KINDS,
        divided=column != KINDS,
        cost=cost,
        before=np.zeros(shape, np.int64),
        time_s=time_s,
        tick_s=tick_s,
        time_var=np.broadcast_to(np.where(known, 0.5, 1.0) * first.jitter_s**2, shape),
        cross_var=np.zeros(shape),
        tick_var=(tempo_error * tick_s) ** 2,
    )


def _allowed_starts(first: Moment, guess: Guess, tables: Lattice, row: int) -> list[tuple[int, int]]:
    """Places the first moment may stand on, as beat and place in it: near where it was heard, where that is known."""
    ticks = tables.ticks[row, : tables.count[row]]
    if guess.downbeat_s is None:
        return [(0, place) for place, tick in enumerate(ticks) if guess.start in (None, tick)]
    expected = (first.onset_s - guess.downbeat_s) * TICKS / guess.quarter_s
    low, high, pulse = expected - REACH, expected + REACH, int(tables.pulse[row])
    if guess.earliest is not None:
        low = max(low, float(guess.earliest * TICKS))
        high = max(high, low + QUICKEST)  # heard before anything may be written
    beats = range(int(low // pulse), int(high // pulse) + 1)
    found = [(beat, place) for beat in beats for place, tick in enumerate(ticks) if low <= beat * pulse + tick <= high]
    return found or [(math.ceil(low / pulse), 0)]


def _advance(living: Living, moment: Moment, tables: Lattice, rows: Ints, drift: float, beam: int) -> Living:
    """Every living reading takes the next moment; the cheapest for each place and division live on."""
    row, pulse, count = rows[:, None], tables.pulse[rows][:, None], tables.count[rows][:, None]
    since = living.beat * pulse + living.tick
    expected = since + (moment.onset_s - living.time_s) / living.tick_s
    low = np.maximum(np.ceil(expected - REACH).astype(np.int64), since + 1)
    high = np.where(expected + REACH < low, since + QUICKEST, expected + REACH)
    index = low // pulse * count + tables.first[row, low % pulse]
    reach = index[..., None] + PLACES_IN_REACH
    reach[..., -1] = (living.beat + 1) * count  # the next beat: a way on, at a price, for readings with no other
    beat, place = np.divmod(reach, count[..., None])
    step = beat * pulse[..., None] + tables.ticks[row[..., None], place] - since[..., None]
    miss = (moment.onset_s - living.time_s)[..., None] - living.tick_s[..., None] * step
    spread = step * (2 * living.cross_var[..., None] + step * living.tick_var[..., None])
    spread += (moment.jitter_s**2 + living.time_var)[..., None]
    cost = np.minimum(0.5 * miss * miss / spread, WILD_NATS)
    state = state_of(living.tick, living.division, living.divided)
    passed = beat - living.beat[..., None]
    later = tables.arrive[row[..., None], living.division[..., None], place]
    later += tables.leave[row, state][..., None] + (passed - 1) * tables.skip[row][..., None]
    cost += np.where(passed == 0, tables.within[row[..., None], state[..., None], place], later)
    far = step > (high - since)[..., None]
    far[..., -1] = False
    cost[far] = np.inf
    cost[..., -1] += LOST_COST
    cost += living.cost[..., None]
    return _survivors(living, moment, (beat, place), cost, tables, rows, drift, beam)


def _survivors(
    living: Living,
    moment: Moment,
    to: tuple[Ints, Ints],
    cost: Floats,
    tables: Lattice,
    rows: Ints,
    drift: float,
    beam: int,
) -> Living:
    """The cheapest readings, one for each place, division and state of the beat."""
    guesses, _, reach = cost.shape
    flat = cost.reshape(guesses, -1)
    width = min(2 * beam + 4, flat.shape[1])
    index = np.arange(guesses)[:, None]
    chosen = np.argpartition(flat, width - 1, axis=1)[:, :width]
    nats = flat[index, chosen]
    order = np.argsort(nats, axis=1, kind="stable")
    chosen, nats = chosen[index, order], nats[index, order]
    before = chosen // reach
    beat, place = (each.reshape(guesses, -1)[index, chosen] for each in to)
    column = tables.column[rows[:, None], place]
    divided = column != KINDS
    division = np.where(divided, column, living.division[index, before])
    key = (beat * 64 + place) * KINDS + division
    repeated = ((key[:, :, None] == key[:, None, :]) & np.tri(width, width, -1, dtype=np.bool_)).any(axis=2)
    nats = np.where(repeated, np.inf, nats)
    kept = np.argsort(nats, axis=1, kind="stable")[:, :beam]
    before, beat, place = before[index, kept], beat[index, kept], place[index, kept]
    tick = tables.ticks[rows[:, None], place]
    step = beat * tables.pulse[rows][:, None] + tick
    step -= living.beat[index, before] * tables.pulse[rows][:, None] + living.tick[index, before]
    return Living(
        beat,
        tick,
        division[index, kept],
        divided[index, kept],
        nats[index, kept],
        before,
        *_clock(living, moment, (index, before), step, drift),
    )


def _clock(
    living: Living, moment: Moment, last: tuple[Ints, Ints], step: Ints, drift: float
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """The belief ``step`` ticks after the last place, having heard the moment; one far off tells nothing of the beat.

    ``drift`` is the share by which a tempo wanders in a quarter.
    """
    tick_s, cross_var, tick_var = living.tick_s[last], living.cross_var[last], living.tick_var[last]
    time_s = living.time_s[last] + tick_s * step
    time_var = living.time_var[last] + step * (2 * cross_var + step * tick_var + BREATH_S**2 / TICKS)
    cross_var = cross_var + step * tick_var
    tick_var = tick_var + (drift * tick_s) ** 2 * step / TICKS
    miss, spread = moment.onset_s - time_s, time_var + moment.jitter_s**2
    told = 0.5 * miss * miss <= WILD_NATS * spread
    gain_time, gain_tick = np.where(told, time_var / spread, 0.0), np.where(told, cross_var / spread, 0.0)
    return (
        time_s + gain_time * miss,
        tick_s + gain_tick * miss,
        time_var * (1 - gain_time),
        cross_var * (1 - gain_time),
        tick_var - gain_tick * cross_var,
    )


def _traced(guesses: Sequence[Guess], steps: Sequence[Living]) -> tuple[Followed, ...]:
    """Lead the cheapest reading of each guess back to the first moment."""
    rows = np.arange(len(guesses))
    at = np.argmin(steps[-1].cost, axis=1)
    costs = steps[-1].cost[rows, at]
    trail = []
    pulse = np.array([int(guess.pulse * TICKS) for guess in guesses])
    for step in reversed(steps):
        trail.append(
            (step.beat[rows, at] * pulse + step.tick[rows, at], step.time_s[rows, at], step.tick_s[rows, at] * TICKS)
        )
        at = step.before[rows, at]
    ticks, times_s, quarters_s = (np.array(each[::-1]).T.tolist() for each in zip(*trail, strict=True))
    return tuple(
        Followed(guess, tuple(ticks[row]), tuple(times_s[row]), tuple(quarters_s[row]), float(costs[row]))
        for row, guess in enumerate(guesses)
    )
