"""Movable chord shapes, closed triads on string sets and scale positions: named values with frets from tables."""

from __future__ import annotations

from fingering.fretboard import Fretboard


def chord_outside_shapes(places: list[tuple[int, int]], fretboard: Fretboard) -> float:
    """Return 1 for a chord of three notes or more that lies in none of the movable shapes, else 0.

    ``places`` are (string, fret); a chord lies in a shape when some fret moves the shape over all its places.
    """
    if len(places) < 3 or len(fretboard.open_midi) != 6:
        return 0.0
    return 0.0 if any(fits_shape(places, frets) is not None for frets in MAJOR_SHAPES.values()) else 1.0


# Frets of strings 6 to 1 for the root C, None where the string is silent; the shapes follow one another up the
# neck in this order. Common practice, checked by pitch class.
MAJOR_SHAPES: dict[str, tuple[int | None, ...]] = {
    "C": (None, 3, 2, 0, 1, 0),
    "A": (None, 3, 5, 5, 5, 3),
    "G": (8, 7, 5, 5, 5, 8),
    "E": (8, 10, 10, 9, 8, 8),
    "D": (None, None, 10, 12, 13, 12),
}


def fits_shape(places: list[tuple[int, int]], frets: tuple[int | None, ...]) -> int | None:
    """Return how many frets up the shape must move to hold all places (string, fret); None when it cannot."""
    moved = set()
    for string, fret in places:
        home = frets[6 - string]
        if home is None:
            return None
        moved.add(fret - home)
    lowest = min(fret for fret in frets if fret is not None)
    if len(moved) == 1 and lowest + (up := moved.pop()) >= 0:
        return up
    return None
