"""Every way to read a take in musical time that is worth considering, each with how likely it is.

Tempo, beat, metre and bar lines are judged together: each tempo worth trying is followed with a plain and with a
dotted beat from every point of the beat, bars of each metre are laid over what comes out, and the facts that speak for
and against each (``features``) are weighed with weights learned from tunes of known metre (``weights``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.features import METERS, bar_facts, note_facts, possible_lines, reading_facts
from transcribe.rhythm.follow import Followed, Guess, follow
from transcribe.rhythm.grid import TICKS, pulse_beats, start_places
from transcribe.rhythm.judge import FEWEST_MOMENTS, SHORTLIST, judged, sheet_of
from transcribe.rhythm.onsets import Moment
from transcribe.rhythm.rhythm import Meter
from transcribe.rhythm.swing import FEWEST_BEATS
from transcribe.rhythm.tempo import tempo_candidates
from transcribe.rhythm.weights import WEIGHTS
from transcribe.settings import RhythmSettings

Floats = NDArray[np.float64]

USUAL_METERS = (Meter(4, 4), Meter(3, 4), Meter(6, 8), Meter(12, 8))
SWUNG_NATS = 4.0  # against dotted beats that are only divided long-short
PICKUP_NATS = 1.5  # in full up to the first number of moments, fading up to the second; tried on licks left out
PICKUP_FADES = (16, 40)
SLOWER = 0.8  # a dotted beat may be slower than a plain one
SAME_TEMPO = 0.03  # share within which two readings have one tempo
OTHER_TEMPOS = 4  # judged besides the likeliest readings, so that a doubt can name them
PLAIN, DOTTED = Fraction(1), Fraction(3, 2)


@dataclass(frozen=True, slots=True)
class Told:
    """What is known about the grid before any note is read; None leaves it open."""

    tempo_bpm: float | None = None  # quarters a minute
    meter: Meter | None = None
    beat_s: float | None = None  # from beat to beat: of plain or dotted ones, or eighths of these
    downbeat_s: float | None = None  # when a bar begins
    pickup_beats: Fraction | None = None  # quarters before bar 1


@dataclass(frozen=True, slots=True)
class BarReading:
    """One way to read the moments: their places, the metre, and the place where bar 1 begins."""

    followed: Followed
    meter: Meter
    line: int  # ticks from place 0 to bar 1
    nats: float  # logarithm of how likely, but for a constant
    likely: float = 0.0  # share of all readings considered

    @property
    def ticks(self) -> tuple[int, ...]:
        """Places in ticks from bar 1."""
        return tuple(tick - self.line for tick in self.followed.ticks)

    @property
    def quarter_bpm(self) -> float:
        """Quarters a minute of the guess that was followed."""
        return 60.0 / self.followed.guess.quarter_s


def read_bars(heard: Sequence[Moment], settings: RhythmSettings, told: Told) -> tuple[BarReading, ...]:
    """Return the readings considered, likeliest first; at least one moment is needed."""
    ranked = likeliest(heard, settings, told)
    if len(heard) >= FEWEST_MOMENTS and str(ranked[0][0].meter) in METERS:
        found = _judged(heard, _shortlist(ranked), told)
    else:
        found = [reading for reading, _ in ranked]
    shares = np.exp([(reading.nats - found[0].nats) / settings.reading_temper for reading in found])
    shares /= shares.sum()
    return tuple(
        BarReading(reading.followed, reading.meter, reading.line, reading.nats, share)
        for reading, share in zip(found, shares.tolist(), strict=True)
    )


def likeliest(heard: Sequence[Moment], settings: RhythmSettings, told: Told) -> list[tuple[BarReading, Floats]]:
    """Return the readings considered, each once and with its FACTS, as a first look ranks them: likeliest first."""
    best: dict[tuple[Meter, tuple[int, ...]], tuple[BarReading, Floats]] = {}
    for followed, meter, lines, facts in considered(heard, settings, told):
        nats = facts @ WEIGHTS[kind_of(meter)] - swung_nats(followed, told)
        for line, each, row in zip(lines.tolist(), nats.tolist(), facts, strict=True):
            reading = BarReading(followed, meter, line, each)
            key = (meter, reading.ticks)
            if key not in best or best[key][0].nats < each:
                best[key] = reading, row
    return sorted(best.values(), key=lambda found: -found[0].nats)


def _shortlist(ranked: Sequence[tuple[BarReading, Floats]]) -> list[tuple[BarReading, Floats]]:
    """The likeliest readings, and the likeliest of some tempos that are not among them."""
    found = list(ranked[:SHORTLIST])
    for reading, facts in ranked[SHORTLIST:]:
        if len(found) == SHORTLIST + OTHER_TEMPOS:
            break
        if all(abs(reading.quarter_bpm / other.quarter_bpm - 1) > SAME_TEMPO for other, _ in found):
            found.append((reading, facts))
    return found


def _judged(heard: Sequence[Moment], found: Sequence[tuple[BarReading, Floats]], told: Told) -> list[BarReading]:
    """The readings as the learned judge ranks them, likeliest first."""
    sheets = [
        sheet_of(heard, reading.ticks, reading.meter, facts, reading.followed.guess.quarter_s)
        for reading, facts in found
    ]
    nats = judged(heard, sheets, [reading.meter for reading, _ in found])
    ranked = [
        replace(reading, nats=each - swung_nats(reading.followed, told) - pickup_nats(reading.ticks))
        for (reading, _), each in zip(found, nats.tolist(), strict=True)
    ]
    return sorted(ranked, key=lambda reading: -reading.nats)


def swung_nats(followed: Followed, told: Told) -> float:
    """Return what speaks against a line because it would be written as swung, nats."""
    return SWUNG_NATS if told.meter is None and _only_swings(followed) else 0.0


def pickup_nats(ticks: Sequence[int]) -> float:
    """Return what speaks against a pickup in a short line: folk tunes, learned from, have one more often than licks."""
    full, none = PICKUP_FADES
    share = (none - len(ticks)) / (none - full)
    return PICKUP_NATS * min(1.0, max(0.0, share)) if ticks[0] < 0 else 0.0


def _only_swings(followed: Followed) -> bool:
    """Whether dotted beats are divided long-short and never otherwise: that is written as swung plain ones."""
    if followed.guess.pulse != DOTTED:
        return False
    pulse = int(DOTTED * TICKS)
    inside = [tick % pulse for tick in followed.ticks]
    return inside.count(2 * pulse // 3) >= FEWEST_BEATS and set(inside) <= {0, 2 * pulse // 3}


def kind_of(meter: Meter) -> int:
    """Return which row of the weights judges a metre: 0 for plain beats, 1 for dotted ones."""
    return int(pulse_beats(meter) == DOTTED)


def considered(
    heard: Sequence[Moment], settings: RhythmSettings, told: Told
) -> Iterator[tuple[Followed, Meter, NDArray[np.int64], NDArray[np.float64]]]:
    """Yield each followed line with a metre, the bar lines that may be laid over it, and the facts of each."""
    for followed in _followed(heard, settings, told):
        facts = note_facts(heard, followed.ticks)
        pulse = followed.guess.pulse
        for meter in (told.meter,) if told.meter else USUAL_METERS:
            if pulse_beats(meter) != pulse:
                continue
            lines = _lines(followed, meter, told)
            if not lines.size:
                continue
            quarter_s = followed.guess.quarter_s
            rows = bar_facts(heard, followed.ticks, facts, lines, meter, quarter_s)
            beat_bpm = 60.0 / (quarter_s * float(pulse))
            last = np.tile(reading_facts(followed.cost, beat_bpm, len(heard)), (lines.size, 1))
            yield followed, meter, lines, np.concatenate([rows, last], axis=1)


def _lines(followed: Followed, meter: Meter, told: Told) -> NDArray[np.int64]:
    first = followed.ticks[0]
    bar = int(meter.bar_beats * TICKS)
    if told.downbeat_s is not None:  # what lies more than a bar before it are bars too
        return np.array([-max(0, -first // bar) * bar])
    lines = possible_lines(first, meter)
    if told.pickup_beats is None:
        return lines
    return lines[lines - first == int(told.pickup_beats * TICKS)]


def _followed(heard: Sequence[Moment], settings: RhythmSettings, told: Told) -> list[Followed]:
    """The moments followed at every tempo worth it; the likeliest of these from each point of a beat."""
    guesses = [Guess(60.0 / bpm, pulse, downbeat_s=told.downbeat_s) for bpm, pulse in _tempos(heard, settings, told)]
    steady = told.tempo_bpm is not None or told.beat_s is not None
    first_look = follow(heard, guesses, settings, steady=steady, beam=settings.quick_beam)
    if told.downbeat_s is not None:
        return list(first_look)
    nearest = sorted(first_look, key=lambda followed: followed.cost)[: settings.tempos_kept]
    every = [
        Guess(followed.guess.quarter_s, followed.guess.pulse, start=start)
        for followed in nearest
        for start in start_places(followed.guess.pulse)
    ]
    return list(follow(heard, every, settings, steady=steady, beam=settings.quick_beam))


def _tempos(heard: Sequence[Moment], settings: RhythmSettings, told: Told) -> list[tuple[float, Fraction]]:
    """Tempos to follow, in quarters a minute, each with a beat."""
    pulses = (pulse_beats(told.meter),) if told.meter else (PLAIN, DOTTED)
    if told.tempo_bpm is not None:
        return [(told.tempo_bpm, pulse) for pulse in pulses]
    if told.beat_s is not None:
        units = {DOTTED: (DOTTED, DOTTED / 3)}  # a click in 6/8 may count eighths
        return [(60.0 * float(unit) / told.beat_s, pulse) for pulse in pulses for unit in units.get(pulse, (pulse,))]
    slowest, fastest = settings.slowest_bpm * SLOWER, settings.fastest_bpm
    tempos = tempo_candidates(heard, settings)
    return [(bpm, pulse) for pulse in pulses for bpm in tempos if slowest <= bpm / float(pulse) <= fastest]
