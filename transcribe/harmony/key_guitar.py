"""What a guitarist's habits say of the key, where folk melodies say nothing: bends, blue notes, boxes, open chords.

All of it common practice of lead guitar; how much each counts stands in ``HarmonySettings``.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from transcribe.harmony.sounding import Sounded

# Semitones above the tonic -> how readily a bend arrives there, major and minor: b7 up to the tonic, 4 up to 5, 2 up to
# a major third, b3 up to 4.
BENT_TO = ({0: 0.75, 4: 1.0, 7: 0.75, 2: 0.25, 9: 0.25}, {0: 1.0, 7: 1.0, 5: 0.5, 3: 0.25, 10: 0.25})
BOX = frozenset({0, 3, 5, 6, 7, 10})  # minor pentatonic with the blue fifth
BOX_CLASSES = 4  # pitch classes that a line must have before it is heard as a box
OPEN_TONICS = (0, 2, 4, 7, 9)  # C D E G A: tonics whose chord is played with open strings
PEDAL_TIMES, PEDAL_SHARE = 3, 0.25  # a lowest note struck so often, in so many of the moments, is a pedal
MOST_RISES = 2  # from the minor to the major third that add up
COLUMNS = (
    "curls", "bends", "minor box", "both thirds", "minor third up to major", "dominant", "pedal", "open tonic", "triad",
)  # fmt: skip


def guitar_hints(line: Sequence[Sounded], capo: int = 0) -> NDArray[np.float64]:
    """Return the hints at each key (12 major from C up, 12 minor), shape (24, 9).

    Columns: share of quarter-tone curls on the third of a minor key; how readily its bends arrive there; a minor box
    holds every note; in major keys both thirds sound with the lowered seventh, as in a blues, the minor third goes up
    to the major one, and the chord on the tonic sounds as a dominant seventh; the tonic is the lowest note and comes
    again and again; the tonic has an open chord above the capo; the line is a triad on the tonic and nothing else.
    """
    classes = {note.pitch % 12 for note in line} | {note.fretted % 12 for note in line if note.released}
    curls = [note.pitch % 12 for note in line if note.curled]
    bends = [note.pitch % 12 for note in line if note.pitch != note.fretted]
    rises = [after.pitch % 12 for note, after in pairwise(line) if after.pitch - note.pitch == 1]
    pedal = _pedal(line)
    found = np.zeros((24, len(COLUMNS)))
    for key in range(24):
        minor, tonic = key >= 12, key % 12
        above = {(tone - tonic) % 12 for tone in classes}
        found[key] = (
            curls.count((tonic + 3) % 12) / len(curls) if minor and curls else 0.0,
            _readiness(bends, tonic, minor=minor),
            minor and len(classes) >= BOX_CLASSES and above <= BOX,
            not minor and {0, 3, 4, 10} <= above,
            0 if minor or 0 not in above else min(MOST_RISES, rises.count((tonic + 4) % 12)),
            not minor and {0, 4, 10} <= above and 11 not in above,
            pedal == tonic,
            (tonic - capo) % 12 in OPEN_TONICS,
            above == ({0, 3, 7} if minor else {0, 4, 7}),
        )
    return found


def _readiness(bends: Collection[int], tonic: int, *, minor: bool) -> float:
    """Return how readily some bends arrive in a key, 0 to 1; one bend alone says half of what many do."""
    table = BENT_TO[minor]
    return sum(table.get((tone - tonic) % 12, 0.0) for tone in bends) / (len(bends) + 1)


def _pedal(line: Sequence[Sounded]) -> int | None:
    """Return the pitch class of a lowest note that keeps coming back under the others, None for none."""
    low = min(note.pitch for note in line)
    struck = [note for note in line if note.pitch == low]
    moments = len({note.start for note in line})
    comes_back = len(struck) < len(line) and len(struck) >= max(PEDAL_TIMES, PEDAL_SHARE * moments)
    return low % 12 if comes_back else None
