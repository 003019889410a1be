"""Which shape each stretch of a fingering lies in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from fingering.fretboard import STANDARD_OPEN_MIDI, Fretboard
from fingering.passage import Placement
from fingering.shapes import OPEN_ROOT, Shape, chord_shapes, pentatonic_shapes
from fingering.solution import ShapeSpan

# How much of a shape must be heard before it is named; choices of ours.
CHORD_STRINGS = 3  # a chord, struck or spread, on this many strings
BOX_PITCHES = 5  # a line in a pentatonic box with this many different pitches


@dataclass(frozen=True, slots=True)
class _Placed:
    shape: Shape
    fret: int
    places: frozenset[tuple[int, int]]
    roots: frozenset[tuple[int, int]]
    is_box: bool


@lru_cache(maxsize=8)
def _placed_by_place(last_fret: int) -> dict[tuple[int, int], tuple[_Placed, ...]]:
    """Return every shape at every fret of the neck by the places it holds, chords first, low frets first."""
    found: dict[tuple[int, int], list[_Placed]] = {}
    for shapes, is_box in ((chord_shapes(), False), (pentatonic_shapes(), True)):
        for shape in shapes:
            lowest = min(fret for _, fret in shape.places)
            highest = max(fret for _, fret in shape.places)
            for fret in range(-lowest, last_fret - highest + 1):
                places = shape.at(fret)
                roots = frozenset((string, at) for string, at in places if _is_root(shape, string, at - fret))
                for place in places:
                    found.setdefault(place, []).append(_Placed(shape, fret, places, roots, is_box))
    return {place: tuple(placed) for place, placed in found.items()}


def shape_spans(placements: Sequence[Placement], fretboard: Fretboard) -> tuple[ShapeSpan, ...]:
    """Return the shapes the notes pass through, in order; stretches that lie in none are left out.

    The longest run from each note on is taken; a chord is named before a scale box of the same length. Only in
    standard tuning do the shapes have their names.
    """
    steps = [high - low for high, low in zip(fretboard.open_midi, fretboard.open_midi[1:], strict=False)]
    if steps != [5, 4, 5, 5, 5]:
        return ()
    spans: list[ShapeSpan] = []
    at = 0
    while at < len(placements):
        best, length = _longest(placements, at, _placed_by_place(fretboard.last_fret))
        if best is None:
            at += 1
            continue
        spans.append(ShapeSpan(placements[at].id, placements[at + length - 1].id, best.shape.name, best.fret))
        at += length
    return tuple(spans)


def _longest(
    placements: Sequence[Placement], at: int, by_place: dict[tuple[int, int], tuple[_Placed, ...]]
) -> tuple[_Placed | None, int]:
    best, length = None, CHORD_STRINGS - 1
    for placed in by_place.get((placements[at].string, placements[at].fret), ()):
        end = at + 1
        while end < len(placements) and (placements[end].string, placements[end].fret) in placed.places:
            end += 1
        if end - at > length and _is_heard(placed, placements[at:end]):
            best, length = placed, end - at
    return best, length


def _is_heard(placed: _Placed, run: Sequence[Placement]) -> bool:
    places = {(placement.string, placement.fret) for placement in run}
    if placed.is_box:
        return len(places) >= BOX_PITCHES
    return len({string for string, _ in places}) >= CHORD_STRINGS and bool(places & placed.roots)


def _is_root(shape: Shape, string: int, from_barre: int) -> bool:
    return (STANDARD_OPEN_MIDI[string - 1] + from_barre - OPEN_ROOT[shape.letter]) % 12 == 0
