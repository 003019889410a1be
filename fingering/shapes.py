"""Movable chord shapes, closed triads on string sets and scale positions: named values with frets.

A shape is named after the open chord it comes from. Moved up, its nut becomes a barre (or an imagined one): "A-shape,
5th fret" is the open A chord with the fifth fret for a nut. Shapes and their names are common practice; every table is
checked by pitch class in the tests.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from fingering.errors import FingeringError
from fingering.fretboard import STANDARD_OPEN_MIDI, Fretboard
from fingering.harmonies import CHORD_TONES, SCALES
from fingering.needs import OCTAVE, Limits

OPEN_ROOT = {"C": 0, "A": 9, "G": 7, "E": 4, "D": 2}  # pitch class of the open chord; up the neck in this order
# where each minor pentatonic box starts on the lowest string, from the barre of the minor shape inside it
_BOX_STARTS = {"E": 0, "D": 1, "C": 1, "A": 0, "G": 1}
OVER_ONE = 2  # from one string to the next but one
WINDOW = (1, 4)  # frets below and above the barre that belong to a shape's part of the neck: common practice
_X = None
# frets of strings 6 to 1 counted from the nut or barre; None is silent
_FRETS: dict[str, dict[str, tuple[int | None, ...]]] = {
    "major": {
        "C": (_X, 3, 2, 0, 1, 0),
        "A": (_X, 0, 2, 2, 2, 0),
        "G": (3, 2, 0, 0, 0, 3),
        "E": (0, 2, 2, 1, 0, 0),
        "D": (_X, _X, 0, 2, 3, 2),
    },
    "minor": {
        "C": (_X, 3, 1, 0, 1, _X),
        "A": (_X, 0, 2, 2, 1, 0),
        "G": (3, 1, 0, 0, _X, 3),
        "E": (0, 2, 2, 0, 0, 0),
        "D": (_X, _X, 0, 2, 3, 1),
    },
    "seventh": {
        "C": (_X, 3, 2, 3, 1, 0),
        "A": (_X, 0, 2, 0, 2, 0),
        "G": (3, 2, 0, 0, 0, 1),
        "E": (0, 2, 0, 1, 0, 0),
        "D": (_X, _X, 0, 2, 1, 2),
    },
    "minor seventh": {
        "C": (_X, 3, 1, 3, 1, _X),
        "A": (_X, 0, 2, 0, 1, 0),
        "G": (3, 1, 0, 0, _X, 1),
        "E": (0, 2, 0, 0, 0, 0),
        "D": (_X, _X, 0, 2, 1, 1),
    },
    "major seventh": {
        "C": (_X, 3, 2, 0, 0, 0),
        "A": (_X, 0, 2, 1, 2, 0),
        "G": (3, 2, 0, 0, 0, 2),
        "E": (0, 2, 1, 1, 0, 0),
        "D": (_X, _X, 0, 2, 2, 2),
    },
}


@dataclass(frozen=True, slots=True)
class Shape:
    """A movable shape. ``places`` are (string, fret from the barre); its root moves with it."""

    name: str  # "A-shape", "A-shape minor", "E-shape minor pentatonic"
    letter: str
    quality: str
    places: frozenset[tuple[int, int]]

    def at(self, fret: int) -> frozenset[tuple[int, int]]:
        """Return its places with the barre at ``fret``; 0 is the nut or capo."""
        return frozenset((string, from_barre + fret) for string, from_barre in self.places)

    def fret_for_root(self, root: int) -> int:
        """Return the lowest barre fret where the shape has this root (pitch class, 0 is C), without a capo.

        >>> shape("A").fret_for_root(0)
        3
        """
        return (root - OPEN_ROOT[self.letter]) % 12


def shape(letter: str, quality: str = "major") -> Shape:
    """Return the movable chord shape that comes from the open chord ``letter``."""
    if letter not in OPEN_ROOT or quality not in _FRETS:
        raise FingeringError(
            f"there is no {letter}-shape {quality}",
            f"Shapes are {', '.join(OPEN_ROOT)}; qualities are {', '.join(_FRETS)}.",
        )
    frets = _FRETS[quality][letter]
    places = frozenset((6 - index, fret) for index, fret in enumerate(frets) if fret is not None)
    name = f"{letter}-shape" if quality == "major" else f"{letter}-shape {quality}"
    return Shape(name, letter, quality, places)


@lru_cache(maxsize=1)
def chord_shapes() -> tuple[Shape, ...]:
    """Return all movable chord shapes, major ones first."""
    return tuple(shape(letter, quality) for quality in _FRETS for letter in OPEN_ROOT)


@lru_cache(maxsize=1)
def pentatonic_shapes() -> tuple[Shape, ...]:
    """Return the five boxes of the minor pentatonic scale, two notes a string, each around the minor shape it holds."""
    boxes = []
    for letter, start in _BOX_STARTS.items():
        tones = {(OPEN_ROOT[letter] + step) % 12 for step in SCALES["minor pentatonic"]}
        low = STANDARD_OPEN_MIDI[-1] + start
        midis = [midi for midi in range(low, low + 36) if midi % 12 in tones]
        strings = range(len(STANDARD_OPEN_MIDI), 0, -1)
        places = frozenset(
            (string, midi - STANDARD_OPEN_MIDI[string - 1])
            for at, string in enumerate(strings)
            for midi in midis[2 * at : 2 * at + 2]
        )
        boxes.append(Shape(f"{letter}-shape minor pentatonic", letter, "minor pentatonic", places))
    return tuple(boxes)


def closed_triad(
    root: int, quality: str, inversion: int, strings: tuple[int, int, int], neck: Fretboard | None = None
) -> tuple[tuple[int, int], ...]:
    """Return the (string, fret) of a closed triad, low note first, as near the nut as it goes.

    ``root`` is a pitch class (0 is C), ``inversion`` 0 to 2, ``strings`` three neighbours from low to high.

    >>> closed_triad(0, "major", 1, (4, 3, 2))
    ((4, 2), (3, 0), (2, 1))
    """
    fretboard = neck or Fretboard()
    tones = CHORD_TONES[quality]
    stacked = [tones[(inversion + step) % 3] + 12 * ((inversion + step) // 3) for step in range(3)]
    opens = [fretboard.open_midi[string - 1] + fretboard.capo for string in strings]
    frets = [root + tone - midi for tone, midi in zip(stacked, opens, strict=True)]
    octaves = -(min(frets) // 12)
    return tuple((string, fret + 12 * octaves) for string, fret in zip(strings, frets, strict=True))


def scale_position(
    root: int, scale: str | tuple[int, ...], position: int, neck: Fretboard | None = None
) -> tuple[tuple[int, int], ...]:
    """Return the (string, fret) of a scale in one position, low note first.

    Each pitch has one place: within the four frets of the position where it can be, else one fret above, else below.

    >>> scale_position(9, "minor pentatonic", 5)[:4]
    ((6, 5), (6, 8), (5, 5), (5, 7))
    """
    fretboard = neck or Fretboard()
    steps = SCALES[scale] if isinstance(scale, str) else scale
    found: dict[int, tuple[int, int]] = {}
    for frets in (range(position, position + 4), (position + 4,), (position - 1,)):
        for string in range(len(fretboard.open_midi), 0, -1):
            for fret in frets:
                midi = fretboard.midi_at(string, fret) if 0 <= fret <= fretboard.last_fret else None
                if midi is not None and (midi - root) % 12 in steps and midi not in found:
                    found[midi] = (string, fret)
    return tuple(found[midi] for midi in sorted(found))


def limits_for_shape(letter: str, root: int, neck: Fretboard | None = None, *, octave: int | None = None) -> Limits:
    """Return limits that keep a passage in the part of the neck around a shape with this root (pitch class, 0 is C).

    The part runs from one fret below the barre to four above, which holds the scale around the chord. Without
    ``octave`` every such part of the neck is allowed; 0 is the one nearest the nut. Capo and a guitar tuned down as a
    whole are seen to. Raises FingeringError for another letter, or when the part does not fit the neck.

    >>> limits_for_shape("E", 9, octave=0).frets
    (4, 9)
    """
    fretboard = neck or Fretboard()
    tuned = fretboard.open_midi[0] - STANDARD_OPEN_MIDI[0] + fretboard.capo
    nearest = (shape(letter.upper()).fret_for_root(root) - tuned) % 12
    barres = range(nearest, fretboard.last_fret - WINDOW[1] + 1, 12) if octave is None else (nearest + 12 * octave,)
    if not barres or not 0 <= barres[-1] <= fretboard.last_fret - WINDOW[1]:
        raise FingeringError(
            f"the {letter.upper()}-shape at fret {barres[-1] if barres else nearest} does not fit a neck of "
            f"{fretboard.last_fret} frets",
            "Choose a shape or octave nearer the nut.",
        )
    windows = [(max(0, barre - WINDOW[0]), barre + WINDOW[1]) for barre in barres]
    if len(windows) == 1:
        return Limits(frets=windows[0])
    strings = range(1, len(fretboard.open_midi) + 1)
    places = ((string, fret) for low, high in windows for string in strings for fret in range(low, high + 1))
    return Limits(places=frozenset(places))


@lru_cache(maxsize=1)
def _known_chords() -> dict[frozenset[tuple[int, int]], int]:
    """Return every part of three or more notes of the known chords, brought down to fret 0 -> lowest fret it has."""
    known: dict[frozenset[tuple[int, int]], int] = {}
    patterns = [shape.places for shape in chord_shapes()]
    for quality in ("major", "minor", "diminished", "augmented"):
        for low in (6, 5, 4, 3):
            for inversion in range(3):
                patterns.append(frozenset(closed_triad(0, quality, inversion, (low, low - 1, low - 2))))
    for pattern in patterns:
        base = min(fret for _, fret in pattern)
        for size in range(3, len(pattern) + 1):
            for part in combinations(sorted(pattern), size):
                lowest = min(fret for _, fret in part)
                key = frozenset((string, fret - lowest) for string, fret in part)
                known[key] = min(lowest - base, known.get(key, 99))
    return known


def chord_outside_shapes(places: Iterable[tuple[int, int]], fretboard: Fretboard) -> float:
    """Return 1 for a chord of three notes or more that is part of no known shape or closed triad, else 0."""
    held = list(places)
    if len(held) < 3 or len(fretboard.open_midi) != 6:
        return 0.0
    lowest = min(fret for _, fret in held)
    needs = _known_chords().get(frozenset((string, fret - lowest) for string, fret in held))
    return 0.0 if needs is not None and lowest >= needs else 1.0


def octave_out_of_shape(places: Iterable[tuple[int, int]], fretboard: Fretboard) -> float:
    """Return 1 for two notes an octave apart that do not leave out one string between them, else 0.

    Held over one string, an octave is one shape that slides along two strings: common practice.

    >>> octave_out_of_shape([(5, 5), (3, 7)], Fretboard()), octave_out_of_shape([(6, 10), (3, 7)], Fretboard())
    (0.0, 1.0)
    """
    held = sorted(places)
    if len(held) != 2:
        return 0.0
    (upper, _), (lower, _) = held
    high, low = (fretboard.midi_at(*place) for place in held)
    return float(high - low == OCTAVE and lower - upper != OVER_ONE)
