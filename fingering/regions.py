"""Where on one neck a chord or scale lies: its five movable shapes, each with every fret it holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fingering.fretboard import STANDARD_OPEN_MIDI, Fretboard
from fingering.harmonies import CHORD_TONES, Harmony, tones_of
from fingering.shapes import OPEN_ROOT, pentatonic_shapes, shape

FEWEST_STRINGS = 3  # a neck with fewer strings in standard steps has no shapes; a choice of ours
LAST_BARRE = 24  # shapes higher than any usual neck are not looked for
USUAL_LETTERS = frozenset("EA")  # roots on strings 6 and 5: the shapes learned first; common practice
# A major pentatonic box is the box of its relative minor: letter of the minor box, and how many frets behind
MINOR_BOX = {"C": ("A", 0), "A": ("G", 1), "G": ("E", 0), "E": ("D", 1), "D": ("C", 1)}
EVERYWHERE = -1  # all bits: a note that lies in every region


@dataclass(frozen=True, slots=True)
class Region:
    """A shape of a chord or scale at one fret."""

    letter: str  # C, A, G, E or D: the open chord the shape comes from
    harmony: Harmony
    fret: int  # of the barre, from the nut or capo; 0 is the open shape
    places: frozenset[tuple[int, int]]  # (string, fret)

    @property
    def name(self) -> str:
        """Its name without the fret, as "A-shape" or "E-shape minor pentatonic"."""
        return f"{self.letter}-shape" if self.harmony.kind == "major" else f"{self.letter}-shape {self.harmony.kind}"

    @property
    def is_usual(self) -> bool:
        """Whether it is an open chord, or comes from one of the two shapes every guitarist learns first."""
        return self.letter in USUAL_LETTERS or (self.fret == 0 and self.harmony.kind in CHORD_TONES)


def standard_strings(fretboard: Fretboard) -> tuple[frozenset[int], int]:
    """Return the strings that stand to one another as in standard tuning, and how many semitones above it they are.

    >>> standard_strings(Fretboard(open_midi=(64, 59, 55, 50, 45, 38), capo=2))
    (frozenset({1, 2, 3, 4, 5}), 2)
    """
    above = [midi - usual for midi, usual in zip(fretboard.open_midi, STANDARD_OPEN_MIDI, strict=False)]
    common, _ = Counter(above).most_common(1)[0]
    strings = frozenset(string for string, semitones in enumerate(above, start=1) if semitones == common)
    return (strings if len(strings) >= FEWEST_STRINGS else frozenset()), common + fretboard.capo


@lru_cache(maxsize=1024)
def regions_of(harmony: Harmony, fretboard: Fretboard) -> tuple[Region, ...]:
    """Return every region of this chord or scale on the neck, from the nut up; none in tunings without shapes."""
    strings, above = standard_strings(fretboard)
    found = []
    for letter in OPEN_ROOT if strings else ():
        lowest = (_anchor(harmony, letter) - above) % 12
        for barre in range(lowest - 12, min(fretboard.last_fret, LAST_BARRE) + 1, 12):
            places = _places(harmony, letter, barre, above, fretboard)
            if barre >= 0 and places:
                found.append(Region(letter, harmony, barre, frozenset(p for p in places if p[0] in strings)))
    return tuple(sorted(found, key=lambda region: region.fret))


@lru_cache(maxsize=1024)
def region_bits(harmony: Harmony, fretboard: Fretboard) -> tuple[np.ndarray, int]:
    """Return, per (string, fret), the set of regions it lies in, a bit each, and the bits of the usual regions.

    Row 0 (a note left out) and strings out of the standard steps lie in every region.
    """
    regions = regions_of(harmony, fretboard)
    strings, _ = standard_strings(fretboard)
    bits = np.zeros((len(fretboard.open_midi) + 1, fretboard.last_fret + 1), dtype=np.int64)
    bits[[string for string in range(len(bits)) if string not in strings]] = EVERYWHERE
    usual = 0
    for at, region in enumerate(regions):
        usual |= (1 << at) * region.is_usual
        for string, fret in region.places:
            bits[string, fret] |= 1 << at
    bits.setflags(write=False)
    return bits, usual


def _anchor(harmony: Harmony, letter: str) -> int:
    """Return how far the shape's barre must move up from the open chord, before capo and tuning."""
    return harmony.root - OPEN_ROOT[letter]


def _places(harmony: Harmony, letter: str, barre: int, above: int, fretboard: Fretboard) -> Iterable[tuple[int, int]]:
    """Return the (string, fret) of the region; nothing when its shape leaves the neck."""
    if harmony.kind in CHORD_TONES:
        core = shape(letter, harmony.kind).at(barre)
        low, high = min(fret for _, fret in core), max(fret for _, fret in core)
    elif harmony.kind.endswith("scale"):
        core, low, high = frozenset(), *_scale_frets(harmony, letter, barre, above)
    else:
        minor, behind = MINOR_BOX[letter] if harmony.kind == "major pentatonic" else (letter, 0)
        core = next(box for box in pentatonic_shapes() if box.letter == minor).at(barre - behind)
        low, high = min(fret for _, fret in core), max(fret for _, fret in core)
    if high > fretboard.last_fret or high < 0 or (low < 0 and harmony.kind in CHORD_TONES):
        return ()
    tones = {(harmony.root + tone) % 12 for tone in tones_of(harmony.kind)}
    within = {
        (string, fret)
        for string, open_midi in enumerate(STANDARD_OPEN_MIDI, start=1)
        for fret in range(max(0, low), high + 1)
        if (open_midi + above + fret) % 12 in tones
    }
    exact = harmony.kind.endswith("pentatonic")
    return {place for place in core if place[1] >= 0} if exact else within | core


def _scale_frets(harmony: Harmony, letter: str, barre: int, above: int) -> tuple[int, int]:
    """Return the first and last fret of a scale of seven notes around a shape: one position and a stretch either way.

    The hand stands at the barre or one fret below it, wherever fewer notes ask for a stretch.
    """
    tones = {(harmony.root + tone) % 12 for tone in tones_of(harmony.kind)}

    def inside(position: int) -> int:
        return sum(
            (open_midi + above + fret) % 12 in tones
            for open_midi in STANDARD_OPEN_MIDI
            for fret in range(position, position + 4)
        )

    position = max((barre - 1, barre), key=inside)
    return position - 1, position + 4
