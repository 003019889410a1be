"""How each note stands in its bar and among its neighbours: the rows that ``judge`` reads, and facts of whole lines.

What a reader goes by when laying bars over a melody: long notes and leaps on strong beats, bars that come again after
one, two or four, phrases as long as whole bars, home and the chords of the key at bar lines, a last bar that makes the
pickup whole (F. Lerdahl and R. Jackendoff, "A Generative Theory of Tonal Music", MIT Press 1983; D. Temperley, "The
Cognition of Basic Musical Structures", MIT Press 2001; both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.features import GAPS, strength_table
from transcribe.rhythm.grid import TICKS, pulse_beats
from transcribe.rhythm.rhythm import Meter

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Kind = TypeVar("Kind", Ints, Flags)

LAGS_BARS = (1, 2, 4)
KEEN_QUARTERS = 1.5  # times the usual gap: a gap this long may end a phrase
# How well each pitch class fits a key, from the tonic up: C. Krumhansl and E. Kessler 1982 (from memory).
MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)
DEGREES = np.array([0, 6, 1, 2, 2, 3, 6, 4, 5, 5, 6, 6])  # tonic, 2nd, 3rd, 4th, 5th, 6th, 7th or outside the scale
MOVES = 7  # repeated; a step, a third, a leap, each up and down
LOWEST, HIGHEST = -1, 999  # beyond every pitch: the ends of a line are no turning points
NOBODY = {"gap": len(GAPS), "strength": 5, "move": MOVES}  # where there is no neighbour


def _key_table() -> Floats:
    table = np.array([np.roll(shape, tonic) for shape in (MAJOR, MINOR) for tonic in range(12)])
    table -= table.mean(axis=1, keepdims=True)
    found: Floats = table / np.linalg.norm(table, axis=1, keepdims=True)
    return found


KEYS = _key_table()
# Slots of half a quarter in the bars of plain beats, in two dotted beats: where each metre's begin.
SLOTS = {"4/4": 0, "3/4": 8, "6/8": 14, "12/8": 14}
ALL_SLOTS = 20


@dataclass(frozen=True)
class Standing:
    """One reading of a line: places in ticks from bar 1, pitches, and the metre; two notes at least."""

    at: Ints
    midi: Ints
    meter: Meter

    @property
    def bar(self) -> int:
        """Ticks of a bar."""
        return int(self.meter.bar_beats * TICKS)

    @property
    def half_bar(self) -> int:
        """Ticks of half a bar where beats divide it in two, else of one beat."""
        pulse = int(pulse_beats(self.meter) * TICKS)
        return self.bar // 2 if self.bar % (2 * pulse) == 0 else pulse

    @cached_property
    def strength(self) -> Ints:
        """Of each note's place, as an index into features.STRENGTHS."""
        found: Ints = strength_table(self.meter)[self.at % self.bar]
        return found

    @cached_property
    def gaps(self) -> Ints:
        """Ticks from each note to the next, one fewer than notes."""
        return np.diff(self.at)

    @cached_property
    def lengths(self) -> Floats:
        """Quarters each note lasts, two at most; the last counts as one."""
        return np.minimum(np.append(self.gaps, TICKS), 2 * TICKS) / TICKS

    @cached_property
    def degree(self) -> Ints:
        """Of each note in the likeliest key of the line."""
        pitch_class = self.midi % 12
        share = np.bincount(pitch_class, self.lengths, 12)
        tonic = int(np.argmax(KEYS @ (share - share.mean()))) % 12
        found: Ints = DEGREES[(pitch_class - tonic) % 12]
        return found

    @cached_property
    def phrase(self) -> Flags:
        """Whether a note begins a phrase: the gap before it is longer than its neighbours, and than usual."""
        before = np.concatenate(([0], self.gaps))
        keen = before >= KEEN_QUARTERS * np.median(self.gaps)
        return (before >= TICKS) & keen & (before > _moved(before, 1, 0)) & (before >= _moved(before, -1, 0))

    def later(self, lag: int) -> tuple[Ints, Flags]:
        """Return of each note the first one ``lag`` ticks on or later, or the last, and whether it is just there."""
        wanted = self.at + lag
        place = np.clip(np.searchsorted(self.at, wanted), 0, self.at.size - 1)
        return place, self.at[place] == wanted


def moves_of(midi: Ints) -> Ints:
    """Return the kind of each move: 0 repeated, 1 and 2 a step up and down, 3 and 4 a third, 5 and 6 a leap.

    >>> moves_of(np.array([60, 60, 62, 58, 65])).tolist()
    [0, 1, 4, 5]
    """
    step = np.diff(midi)
    size = np.abs(step)
    kind = np.where(size == 0, 0, np.where(size <= 2, 1, np.where(size <= 4, 3, 5)))
    found: Ints = np.where(step < 0, kind + 1, kind)
    return found


def note_rows(line: Standing) -> NDArray[np.uint8]:
    """Return what is told by each note, 0 or 1, shape (notes, NOTE_ROW)."""
    gap = np.append(np.searchsorted(GAPS, line.gaps, side="right") - 1, NOBODY["gap"])
    move = moves_of(line.midi)
    strength, degree = line.strength, line.degree
    eighth = line.at % line.bar // (TICKS // 2)
    slot = SLOTS[str(line.meter)] + (eighth % 6 if str(line.meter) == "12/8" else eighth)
    slot = np.where(line.at % (TICKS // 2) == 0, slot, ALL_SLOTS)
    named = (
        (strength, NOBODY["strength"]),
        (slot, ALL_SLOTS),
        *((_moved(gap, by, NOBODY["gap"]), NOBODY["gap"] + 1) for by in (0, 1, -1)),
        *((_moved(strength, by, NOBODY["strength"]), NOBODY["strength"] + 1) for by in (1, -1, -2)),
        (np.concatenate(([MOVES], move)), MOVES + 1),
        (np.append(move, MOVES), MOVES + 1),
        (degree, MOVES),
        (_moved(degree, -1, MOVES), MOVES + 1),
    )
    blocks = [kind[:, None] == np.arange(count) for kind, count in named]
    return np.concatenate([*blocks, np.array(_flags(line)).T], axis=1).astype(np.uint8)


def _flags(line: Standing) -> list[Flags]:
    """What comes again at whole bars and half bars, phrases, turning points, the ends of the line."""
    found: list[Flags] = []
    step = np.append(np.diff(line.midi), 99)
    for lag in (*(sign * bars * line.bar for bars in LAGS_BARS for sign in (1, -1)), line.half_bar):
        place, struck = line.later(lag)
        inside = (line.at + lag >= line.at[0]) & (line.at + lag <= line.at[-1])
        same, alike = struck & (line.midi[place] == line.midi), struck & (step[place] == step)
        found += [inside & ~struck, struck, same, alike]
    since = line.at - line.at[0]
    whole, pairs, fours = (since % (bars * line.bar) == 0 for bars in LAGS_BARS)
    phrase, number = line.phrase, np.arange(line.at.size)
    (left, right), (low, high) = ([_moved(line.midi, by, edge) for by in (1, -1)] for edge in (HIGHEST, LOWEST))
    before, after = np.concatenate(([0], line.gaps)), np.append(line.gaps, 0)
    found += [phrase, phrase & whole, phrase & pairs, phrase & fours, whole, fours]
    found += [(line.midi > left) & (line.midi > right), (line.midi < low) & (line.midi < high)]
    found += [after > before, after < before, _moved(phrase, -1, 0), number == 0, number == number[-1]]
    return found


def _moved(values: Kind, by: int, fill: int) -> Kind:
    """The values of the note ``by`` places before each."""
    if by == 0:
        return values
    found = np.full_like(values, fill)
    if by > 0:
        found[by:] = values[:-by]
    else:
        found[:by] = values[-by:]
    return found


NOTE_ROW = note_rows(Standing(np.array([0, 24]), np.array([60, 62]), Meter(4, 4))).shape[1]
