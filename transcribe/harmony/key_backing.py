"""What chords told under a line say of the key: which of them is home.

Common practice: a progression starts or ends at home, stays there longest, is led there by a dominant seventh, and
keeps to the scale; in a blues the first, fourth and fifth are all dominant sevenths.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from transcribe.harmony.backing import chord_of
from transcribe.harmony.chord import Chord
from transcribe.harmony.chord_span import ChordSpan

MAJOR_SCALE, MINOR_SCALE = frozenset({0, 2, 4, 5, 7, 9, 11}), frozenset({0, 2, 3, 5, 7, 8, 10, 11})
BLUES_PLACES = (0, 5, 7)  # semitones above the tonic of the dominant sevenths that a blues is at home with
COLUMNS = ("time at home", "first", "last", "led home", "within the scale")


def backing_hints(given: Sequence[ChordSpan]) -> NDArray[np.float64]:
    """Return the hints at each key (12 major from C up, 12 minor), shape (24, 5); zeros where no chord is told.

    Columns: share of the time on the tonic's chord; the first chord is it; the last is; a dominant goes to it; share
    of the time in chords within the scale.
    """
    told = [(chord, float(span.end_beat - span.start_beat)) for span in given if (chord := chord_of(span)) is not None]
    found = np.zeros((24, len(COLUMNS)))
    whole = sum(length for _, length in told)
    if not whole:
        return found
    chords = [chord for chord, _ in told]
    for key in range(24):
        found[key] = (
            sum(length for chord, length in told if _is_home(chord, key)) / whole,
            _is_home(chords[0], key),
            _is_home(chords[-1], key),
            any(_leads(one, key) and _is_home(other, key) for one, other in pairwise([*chords, chords[0]])),
            sum(length for chord, length in told if _belongs(chord, key)) / whole,
        )
    return found


def _is_home(chord: Chord, key: int) -> bool:
    """Return whether a chord is the tonic's; without a third it may be either mode's."""
    thirds = {4: False, -3: True}
    told = {thirds[step] for step in chord.steps if step in thirds}
    return chord.pitch_classes[0] == key % 12 and (not told or (key >= 12) in told)


def _leads(chord: Chord, key: int) -> bool:
    return 4 in chord.steps and chord.pitch_classes[0] == (key + 7) % 12


def _belongs(chord: Chord, key: int) -> bool:
    above = {(tone - key) % 12 for tone in chord.pitch_classes}
    blues = chord.is_dominant and (chord.pitch_classes[0] - key) % 12 in BLUES_PLACES
    return above <= (MINOR_SCALE if key >= 12 else MAJOR_SCALE) or blues
