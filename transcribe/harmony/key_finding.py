"""The key of a line, from how long and how strongly each pitch class sounds and from where the line starts and ends.

The shares of the pitch classes are compared with two published profiles, and the first downbeat and the last note are
heard as hints at the tonic; these hints are added with weights and turned into shares of belief by a softmax.
C. Krumhansl, E. Kessler, "Tracing the dynamic changes in perceived tonal organization", Psychological Review 89
(1982); D. Temperley, "The Cognition of Basic Musical Structures", MIT Press 2001, chapter 7. Their values from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache

import numpy as np
from numpy.typing import NDArray

from transcribe.harmony.key import Key, Mode
from transcribe.harmony.sounding import Sounded
from transcribe.settings import HarmonySettings

KESSLER_MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
KESSLER_MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)
TEMPERLEY_MAJOR = (5.0, 2.0, 3.5, 2.0, 4.5, 4.0, 2.0, 4.5, 2.0, 3.5, 1.5, 4.0)
TEMPERLEY_MINOR = (5.0, 2.0, 3.5, 4.5, 2.0, 4.0, 2.0, 4.5, 3.5, 2.0, 1.5, 4.0)
# Names with the fewest sharps or flats in their signature; F# rather than Gb, Eb minor rather than D# minor.
MAJOR_NAMES = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
MINOR_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
LONGEST_QUARTERS = Fraction(2)  # a note held longer tells no more about the key
ENDING_QUARTERS = 1.0  # a last note shorter than this is less of an ending: common practice
TUNE_NOTES = 24  # a tune comes home; a line of fewer notes may stop on any tone of its chord. Tried: 1, 24, 36, 48

Hints = NDArray[np.float64]


def find_key(
    line: Sequence[Sounded], bar_quarters: Fraction | None = None, settings: HarmonySettings | None = None
) -> Key | None:
    """Return the likeliest key, its confidence (0 to 1) and the runner-up in words; None for no pitched note.

    ``bar_quarters`` is the length of a bar, None where nobody knows the bars.

    >>> line = [
    ...     Sounded(f"n{k}", pitch, pitch, Fraction(k), Fraction(1), Fraction(k + 1))
    ...     for k, pitch in enumerate((67, 69, 71, 72, 74, 71, 69, 66, 67))
    ... ]
    >>> find_key(line, Fraction(4)).tonic
    'G'
    """
    if not line:
        return None
    settings = settings or HarmonySettings()
    beliefs = shares(hints(line, bar_quarters), settings)
    best, second = (int(index) for index in np.argsort(-beliefs, kind="stable")[:2])
    return Key(
        *named(best), confidence=float(beliefs[best]), source="estimated", runner_up="{} {}".format(*named(second))
    )


def named(index: int) -> tuple[str, Mode]:
    """Return tonic and mode of one of the 24 keys: the major ones from C up, then the minor ones."""
    return (MAJOR_NAMES[index], "major") if index < 12 else (MINOR_NAMES[index - 12], "minor")


def shares(found: Hints, settings: HarmonySettings) -> NDArray[np.float64]:
    """Return how much each of the 24 keys is believed in, summing to 1."""
    sums = found @ np.asarray(settings.key_weights)
    grown = np.exp(sums - sums.max())
    return np.asarray(grown / grown.sum())


def hints(line: Sequence[Sounded], bar_quarters: Fraction | None) -> Hints:
    """Return the hints at each key, shape (24, 9).

    Columns: likeness to Kessler's profile, to Temperley's, and to Temperley's with a lowered seventh (correlations; the
    last is the mixolydian or natural minor scale of guitar lines and much folk music); the last note, or the root of
    the last chord, is the tonic, another tone of its triad (less for a short one and in short lines); the same for the
    first downbeat; the key is minor (1 or 0); the share of quarter-tone curls that colour its minor third.
    """
    classes = pitch_class_weights(line)
    last = root_of([note.pitch for note in line if note.start == line[-1].start])
    longest = max(float(note.length) for note in line if note.start == line[-1].start)
    last_tells = min(1.0, longest / ENDING_QUARTERS) * min(1.0, len(line) / TUNE_NOTES)
    curled = [note.pitch % 12 for note in line if note.curled]
    first = _first_downbeat(line, bar_quarters).pitch % 12
    found = np.zeros((24, 9))
    found[:, :3] = _likeness(classes)
    for key in range(24):
        tonic, third = key % 12, 4 if key < 12 else 3
        triad = ((tonic + third) % 12, (tonic + 7) % 12)
        blue = curled.count((tonic + 3) % 12) / len(curled) if curled else 0.0
        ends, begins = (last == tonic, last in triad), (first == tonic, first in triad)
        found[key, 3:] = (*(last_tells * end for end in ends), *begins, key >= 12, blue)
    return found


def pitch_class_weights(line: Sequence[Sounded]) -> NDArray[np.float64]:
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


def _first_downbeat(line: Sequence[Sounded], bar_quarters: Fraction | None) -> Sounded:
    on_downbeat = [note for note in line if bar_quarters and note.start >= 0 and note.start % bar_quarters == 0]
    return on_downbeat[0] if on_downbeat else line[0]


def _likeness(classes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the correlation with each key's profile, shape (24, 3)."""
    centred = classes - classes.mean()
    size = float(np.sqrt((centred**2).sum()))
    if size == 0.0:
        return np.zeros((24, 3))
    return np.asarray((_profiles() @ (centred / size)).T)


def _flat_seventh(profile: tuple[float, ...]) -> tuple[float, ...]:
    return (*profile[:10], profile[11], profile[10])


@cache
def _profiles() -> NDArray[np.float64]:
    """Return the profiles turned to each key, with no mean and of length 1, shape (3, 24, 12)."""
    sets = []
    majors: list[tuple[float, ...]] = [KESSLER_MAJOR, TEMPERLEY_MAJOR, _flat_seventh(TEMPERLEY_MAJOR)]
    minors: list[tuple[float, ...]] = [KESSLER_MINOR, TEMPERLEY_MINOR, _flat_seventh(TEMPERLEY_MINOR)]
    for major, minor in zip(majors, minors, strict=True):
        turned = np.array([np.roll(profile, tonic) for profile in (major, minor) for tonic in range(12)])
        centred = turned - turned.mean(axis=1, keepdims=True)
        sets.append(centred / np.sqrt((centred**2).sum(axis=1, keepdims=True)))
    return np.array(sets)
