"""What speaks for a metre and its bar lines: where notes stand in the bar, how long they last, how they move.

Each way to lay bars over a followed line becomes a row of numbers; ``weights`` holds what each counts. Long notes and
large steps on strong beats, patterns that come again after a bar: F. Lerdahl and R. Jackendoff, "A Generative Theory of
Tonal Music", MIT Press 1983, metrical preference rules (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.grid import TICKS, pulse_beats
from transcribe.rhythm.onsets import Moment
from transcribe.rhythm.rhythm import Meter

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STRENGTHS = ("downbeat", "middle", "beat", "half", "fine")
# A gap to the next note, in ticks, belongs to the last of these that it reaches.
GAPS = (0, TICKS // 2, TICKS // 2 + 1, TICKS, TICKS + 1, 2 * TICKS, 3 * TICKS)
GAP_NAMES = ("short", "half", "dotted half", "quarter", "dotted quarter", "two quarters", "more than that")
MOVES = ("longer", "shorter", "leap", "fourth up", "repeated", "at home", "peak", "valley")
NOTE_FACTS = (*GAP_NAMES, *MOVES)
STARTS = ("bar", "eighth", "fine", "beat", "earlier", "late", "very late")
LAGS = ("again", "same again", "again later", "same again later", "possible", "possible later")
METERS = ("4/4", "3/4", "6/8", "12/8")
FACTS = (
    *(f"{strength}: {fact}" for strength in STRENGTHS for fact in NOTE_FACTS),
    *(f"last on {strength}" for strength in STRENGTHS),
    *(f"last rings on {strength}" for strength in STRENGTHS),
    *(f"starts {start}" for start in STARTS),
    *(f"bar {lag}" for lag in LAGS),
    *(f"{meter} {what}" for meter in METERS for what in ("at all", "a note", "a quarter")),
    "reading cost",
    "tempo",
    "tempo squared",
    "notes by tempo",
)
LONGEST_LEAP = 12.0  # semitones
FOURTH = 5  # semitones up: from dominant to tonic, the step that opens many tunes
RINGS = 1.0  # quarters that a last note must sound to count as ringing


@cache
def strength_table(meter: Meter) -> Ints:
    """Return the strength of every tick of a bar, as an index into STRENGTHS.

    The middle is the second half's first beat, where the bar has one; a half is also each third of a dotted beat.

    >>> [STRENGTHS[strength_table(Meter(4, 4))[tick]] for tick in (0, 12, 24, 30, 48)]
    ['downbeat', 'half', 'beat', 'fine', 'middle']
    """
    bar, pulse = int(meter.bar_beats * TICKS), int(pulse_beats(meter) * TICKS)
    half = pulse // 3 if pulse % 9 == 0 else pulse // 2
    found = np.full(bar, STRENGTHS.index("fine"))
    found[half::half] = STRENGTHS.index("half")
    found[pulse::pulse] = STRENGTHS.index("beat")
    if bar % (2 * pulse) == 0:
        found[bar // 2] = STRENGTHS.index("middle")
    found[0] = STRENGTHS.index("downbeat")
    return found


def possible_lines(first: int, meter: Meter) -> Ints:
    """Return every tick where bar 1 may begin: after a pickup shorter than a bar, or up to half a bar before."""
    bar, pulse = int(meter.bar_beats * TICKS), int(pulse_beats(meter) * TICKS)
    lines = np.arange(first // pulse * pulse - bar, first + bar, pulse)
    return lines[(first - lines < bar / 2) & (lines - first < bar)]


def note_facts(heard: Sequence[Moment], ticks: Sequence[int]) -> Floats:
    """Return what is told by each moment wherever its bar begins, shape (moments, NOTE_FACTS)."""
    at = np.array(ticks)
    weight = np.array([moment.weight for moment in heard])
    midi = np.array([moment.notes[0].midi for moment in heard], dtype=np.float64)
    gap = np.append(np.diff(at), 0)
    found = np.zeros((at.size, len(NOTE_FACTS)))
    kind = np.searchsorted(GAPS, gap, side="right") - 1
    found[np.arange(at.size - 1), kind[:-1]] = 1.0
    moves = found[:, len(GAP_NAMES) :]
    if at.size > 1:
        step = np.diff(midi)
        moves[1:-1, 0], moves[1:-1, 1] = gap[1:-1] > gap[:-2], gap[1:-1] < gap[:-2]
        moves[1:, 2] = np.minimum(np.abs(step), LONGEST_LEAP) / LONGEST_LEAP
        moves[1:, 3], moves[1:, 4] = step == FOURTH, step == 0
        moves[1:-1, 6], moves[1:-1, 7] = (step[:-1] > 0) & (step[1:] < 0), (step[:-1] < 0) & (step[1:] > 0)
    pitch_class = midi.astype(np.int64) % 12
    length = np.minimum(np.append(gap[:-1], TICKS), 2 * TICKS).astype(np.float64)
    share = np.bincount(pitch_class, length, 12)
    moves[:, 5] = share[pitch_class] / share.max()
    return found * weight[:, None]


def bar_facts(
    heard: Sequence[Moment], ticks: Sequence[int], facts: Floats, lines: Ints, meter: Meter, quarter_s: float
) -> Floats:
    """Return the facts of each bar line, all but the last four of FACTS, shape (lines, FACTS - 4)."""
    at = np.array(ticks)
    bar, pulse = int(meter.bar_beats * TICKS), int(pulse_beats(meter) * TICKS)
    strength = strength_table(meter)[(at - lines[:, None]) % bar]
    standing = strength[:, None, :] == np.arange(len(STRENGTHS))[None, :, None]  # (lines, strengths, moments)
    by_strength = (standing @ facts).reshape(lines.size, -1)
    last = standing[:, :, -1].astype(np.float64)
    rings = heard[-1].end_s - heard[-1].onset_s >= RINGS * quarter_s
    starts = np.zeros((lines.size, len(STARTS)))
    starts[np.arange(lines.size), [_start(int(at[0] - line), bar, pulse) for line in lines]] = 1.0
    quarters = (at[-1] - at[0]) / TICKS
    bias = np.zeros(3 * len(METERS))
    if str(meter) in METERS:
        index = 3 * METERS.index(str(meter))
        bias[index : index + 3] = 1.0, at.size, quarters
    common = np.concatenate([_again(heard, at, bar), bias])
    return np.concatenate([by_strength, last, last * rings, starts, np.tile(common, (lines.size, 1))], axis=1)


def _start(lead: int, bar: int, pulse: int) -> int:
    """Which of STARTS a first note ``lead`` ticks after its bar line is."""
    if lead == 0:
        return 0
    if lead > 0:
        return 5 if lead < bar // 2 else 6
    if -lead < pulse:
        return 1 if lead % (TICKS // 2) == 0 else 2
    return 3 if -lead == pulse else 4


def _again(heard: Sequence[Moment], at: Ints, bar: int) -> Floats:
    """How many notes come again one bar and two bars later, at all and at the same pitch, and how many could."""
    midi = np.array([moment.notes[0].midi for moment in heard])
    found = []
    possible = []
    for lag in (bar, 2 * bar):
        place = np.minimum(np.searchsorted(at, at + lag), at.size - 1)
        again = at[place] == at + lag
        found += [float(again.sum()), float((again & (midi[place] == midi)).sum())]
        possible.append(float((at + lag <= at[-1]).sum()))
    return np.array([*found, *possible])


def reading_facts(cost: float, beat_bpm: float, count: int) -> Floats:
    """Return the last four of FACTS: what the reading cost and how fast its beat goes."""
    octaves = float(np.log2(beat_bpm / 100.0))
    return np.array([cost, octaves, octaves * octaves, octaves * count])


def as_places(ticks: Sequence[int]) -> tuple[Fraction, ...]:
    """Return ticks as quarters."""
    return tuple(Fraction(tick, TICKS) for tick in ticks)
