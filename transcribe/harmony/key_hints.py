"""What a line says of its key, as weights over the twelve pitch classes: how long each sounds, where it stands, and
which moves arrive on it.

That first, last, long, low and accented notes tell the tonic is common practice; that moves tell it more than the
stock of notes alone: D. Butler, H. Brown, "Describing the mental representation of tonality in music" (1994), from
memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from transcribe.harmony.sounding import Sounded

LONGEST_QUARTERS = Fraction(2)  # a note held longer tells no more about the key
ENDING_QUARTERS = 1.0  # a last note shorter than this is less of an ending: common practice
TUNE_NOTES = 24  # a tune comes home; a line of fewer notes may stop on any tone of its chord
FEW_LONGEST = 3  # the longest length says something where at most one note in so many has it
# Moves that arrive on a note: a half step up or down; a fourth up or fifth down, as roots fall; the reverse
MOVES = ((1,), (-1,), (5, -7), (-5, 7))
HINTS = (
    "sounded", "heard at all", "first downbeat", "downbeats", "last", "last of a tune", "lowest", "highest", "longest",
    "reached by a half step up", "reached by a half step down", "reached by a fourth up or fifth down",
    "reached by a fifth up or fourth down", "begins on a major triad", "begins on a minor triad",
    "ends on a major triad", "ends on a minor triad",
)  # fmt: skip

Hints = NDArray[np.float64]


def hints(line: Sequence[Sounded], bar_quarters: Fraction | None, backing: Sequence[Sounded] = ()) -> Hints:
    """Return what is heard of each pitch class (0 is C), a row for each of ``HINTS``: shape (17, 12).

    ``bar_quarters`` is the length of a bar, None where nobody knows the bars. ``backing`` holds the tones of chords
    told under the line: they count as heard, but move nowhere.
    """
    heard = sorted((*line, *backing), key=lambda note: (note.start, note.pitch, note.id))
    sounding = pitch_class_weights(heard)
    downbeats = [note for note in heard if bar_quarters and note.start >= 0 and note.start % bar_quarters == 0]
    first = _struck_at(heard, (downbeats or heard)[0].start)
    last = _struck_at(heard, heard[-1].start)
    ends = _one(root_of([note.pitch for note in last])) * min(1.0, max(float(note.length) for note in last))
    top = _top_voice(line)
    long = max(note.length for note in line)
    longest = [note for note in line if note.length == long]
    rows = [
        sounding / sounding.sum(),
        (sounding > 0).astype(float),
        _one(root_of([note.pitch for note in first])),
        _share(downbeats),
        ends / ENDING_QUARTERS,
        ends / ENDING_QUARTERS * min(1.0, len(top) / TUNE_NOTES),
        _one(min(note.pitch for note in heard)),
        _one(max(note.pitch for note in line)),
        _share(longest if FEW_LONGEST * len(longest) <= len(line) else ()),
        *_arrivals(top),
        *_triad(line),
        *_triad(line[::-1]),
    ]
    return np.array(rows)


def pitch_class_weights(line: Sequence[Sounded]) -> Hints:
    """Return the weight of each pitch class, shape (12,): quarters sounded times the strength of the place.

    A bend that is let down again counts half where it arrives and half at the fret.
    """
    weights = np.zeros(12)
    for note in line:
        weight = float(min(note.length, LONGEST_QUARTERS)) * note.weight
        parts = (note.pitch, note.fretted) if note.released else (note.pitch, note.pitch)
        for pitch in parts:
            weights[pitch % 12] += weight / 2
    return weights


def root_of(pitches: Sequence[int]) -> int:
    """Return the pitch class of the root where pitches spell a triad or a third of one, else the lowest.

    >>> root_of([59, 62, 67]), root_of([59, 67]), root_of([57])
    (7, 7, 9)
    """
    classes = {pitch % 12 for pitch in pitches}
    if len(classes) > 1:
        for root in [*sorted(classes, key=lambda tone: tone != min(pitches) % 12)]:
            above = {(tone - root) % 12 for tone in classes}
            if above <= {0, 3, 4, 7} and len(above) > 1 and not {3, 4} <= above:
                return root
    return min(pitches) % 12


def _top_voice(line: Sequence[Sounded]) -> list[Sounded]:
    """Return the highest note of each moment: the voice whose moves are heard, however many strings sound."""
    return [max(moment, key=lambda note: note.pitch) for _, moment in groupby(line, key=lambda note: note.start)]


def _arrivals(line: Sequence[Sounded]) -> list[Hints]:
    """Return, per move of ``MOVES``, how often it arrives on each pitch class; more notes weigh more, not in step."""
    found = [np.zeros(12) for _ in MOVES]
    for note, after in pairwise(line):
        for row, sizes in zip(found, MOVES, strict=True):
            if after.pitch - note.pitch in sizes:
                row[after.pitch % 12] += 1.0
    return [row / np.sqrt(len(line)) for row in found]


def _triad(line: Iterable[Sounded]) -> tuple[Hints, Hints]:
    """Return the root of the major, and of the minor, triad that the first three different notes make."""
    first = list(dict.fromkeys(note.pitch % 12 for note in line))[:3]
    rows = np.zeros(12), np.zeros(12)
    for root in first:
        above = {(tone - root) % 12 for tone in first}
        for row, triad in zip(rows, ({0, 4, 7}, {0, 3, 7}), strict=True):
            row[root] = float(above == triad)
    return rows


def _struck_at(heard: Sequence[Sounded], start: Fraction) -> list[Sounded]:
    return [note for note in heard if note.start == start]


def _share(notes: Iterable[Sounded]) -> Hints:
    """Return the share of each pitch class in the lengths of some notes; zeros for none."""
    weights = np.zeros(12)
    for note in notes:
        weights[note.pitch % 12] += float(min(note.length, LONGEST_QUARTERS))
    total = weights.sum()
    return weights / total if total else weights


def _one(pitch: int) -> Hints:
    row = np.zeros(12)
    row[pitch % 12] = 1.0
    return row
