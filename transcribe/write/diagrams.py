"""Chord diagrams: the shapes a lick lies in, which of their places are played, and with which finger."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from fingering.errors import FingeringError
from fingering.fretboard import Fretboard
from fingering.passage import Passage, Placement, Pluck
from fingering.search import solve
from fingering.shape_spans import shape_spans
from fingering.shapes import OPEN_ROOT, SCALES, Shape, chord_shapes, pentatonic_shapes
from fingering.solution import ShapeSpan, ordinal
from transcribe.harmony.chord import chord_or_none
from transcribe.harmony.key import Key
from transcribe.score.score import Score
from transcribe.score.spelling import name_text, spell, tonic_fifths

QUALITY_SIGNS = {
    "major": "", "minor": "m", "seventh": "7", "minor seventh": "m7", "major seventh": "maj7",
    "minor pentatonic": " minor pentatonic",
}  # fmt: skip
STRINGS = 6  # the shapes are those of a six-string guitar
SHAPE_TUNING = [5, 4, 5, 5, 5]  # semitones from string to string, high to low
BOX_SHARE = 1 / 3  # of a lick that must lie in a scale box for its diagram to be drawn; a choice of ours
MOST = 12  # diagrams on a sheet: two rows; more would push the music off its first page


@dataclass(frozen=True, slots=True)
class Dot:
    """One place of a diagram."""

    string: int
    fret: int  # from the nut or capo
    finger: int | None
    played: bool  # in this lick, or only part of the shape
    is_root: bool


@dataclass(frozen=True, slots=True)
class Diagram:
    """A shape at its place on the neck."""

    name: str  # "Am7"
    where: str  # "E-shape, 5th fret"
    dots: tuple[Dot, ...]  # string 6 first
    silent: tuple[int, ...]  # strings that must not sound
    capo: int = 0
    held: bool = False  # the fingers are those that hold it all at once, so that one on several strings is a barre

    @property
    def words(self) -> str:
        """The diagram for a reader who cannot see it."""
        told = [_dot_words(dot) for dot in self.dots] + [f"string {string} silent" for string in self.silent]
        return f"{self.name}, {self.where}: " + "; ".join(told)


def diagrams_of(score: Score, shapes: Sequence[ShapeSpan] | None = None) -> tuple[Diagram, ...]:
    """Return a diagram for every shape the lick uses, each once, in the order they are met.

    Shapes named beside the chords come with the chord's symbol; then stretches of notes that lie in a shape:
    ``shapes``, or those found from the places alone. A shape found both ways is told once. There are none for a guitar
    that is not tuned in the intervals of standard tuning, where the shapes have no names.
    """
    board = _board(score)
    if board is None:
        return ()
    struck = _struck(score)
    found: dict[tuple[str, int], _Found] = {}
    for name, shape, fret, played in (*_named(score, struck), *_lain_in(score, shapes, struck, board)):
        found.setdefault((shape.name, fret), _Found(name, shape, fret, [])).played.extend(played)
    roots = _chord_roots(score)
    told = [
        one
        for one in found.values()
        if (
            not roots or _root(one.shape, one.fret, board) in roots
            if one.shape in chord_shapes()
            else _tells(one, board, score.key, len(struck))
        )
    ]
    return tuple(_diagram(one.name, one.shape, one.fret, one.played, board) for one in told[:MOST])


@dataclass(frozen=True, slots=True)
class _Found:
    """A shape met in a lick, at a fret, and all that is played in it there."""

    name: str
    shape: Shape
    fret: int
    played: list[Placement]


def _chord_roots(score: Score) -> set[int]:
    """Return the pitch classes of the chords told and of home; empty where no chord is told, so that any may be met.

    The upper notes of a chord make a shape of another chord: Em9 holds all of Gmaj7, which nobody hears there.
    """
    symbols = [symbol for mark in score.chords for symbol in (mark.symbol, mark.backing)] + [score.vamp]
    roots = {chord.pitch_classes[0] for symbol in symbols if (chord := chord_or_none(symbol)) is not None}
    return roots | {(7 * tonic_fifths(score.key)) % 12} if roots and score.key is not None else roots


_Met = tuple[str, Shape, int, Sequence[Placement]]
_Struck = Sequence[tuple[tuple[int, Fraction], Placement]]


def _named(score: Score, struck: _Struck) -> Iterator[_Met]:
    """Yield the shapes named beside the chords, each with what is played before the next chord."""
    for mark, later in zip(score.chords, (*score.chords[1:], None), strict=False):
        shape = _shape_for(mark.shape, mark.symbol) if mark.shape is not None else None
        if shape is not None and mark.fret is not None:
            end = None if later is None else (later.bar, later.beat)
            played = [place for at, place in struck if (mark.bar, mark.beat) <= at and (end is None or at < end)]
            yield mark.symbol, shape, mark.fret, played


def _lain_in(score: Score, shapes: Sequence[ShapeSpan] | None, struck: _Struck, board: Fretboard) -> Iterator[_Met]:
    """Yield the shapes that stretches of notes lie in."""
    places = [place for _, place in struck]
    order = {place.id: index for index, place in enumerate(places)}
    by_name = {shape.name: shape for shape in (*chord_shapes(), *pentatonic_shapes())}
    for span in shapes or shape_spans(places, board):
        shape = by_name.get(span.name)
        if shape is not None and span.first_id in order and span.last_id in order:
            played = places[order[span.first_id] : order[span.last_id] + 1]
            yield _name(shape, span.fret, board, score), shape, span.fret, played


def _board(score: Score) -> Fretboard | None:
    """Return the neck, or None for one on which the shapes are not known by name."""
    guitar = score.instrument
    steps = [high - low for high, low in pairwise(guitar.open_strings_midi)]
    if steps != SHAPE_TUNING:
        return None
    try:
        return Fretboard(guitar.open_strings_midi, guitar.frets, guitar.capo, guitar.scale_length_mm)
    except FingeringError:  # a document may hold a neck that nobody could build
        return None


def _tells(box: _Found, board: Fretboard, key: Key | None, notes: int) -> bool:
    """Return whether a scale box explains the lick: a good part of it lies there, and it belongs to the key.

    Five notes lie in several boxes; one that is left soon, or foreign to the key, would explain nothing. A box
    belongs to the key when its root is the tonic, or all its notes are of the scale.
    """
    if len(box.played) < BOX_SHARE * notes:
        return False
    if key is None:
        return True
    tonic = (7 * tonic_fifths(key)) % 12
    scale = {(tonic + step) % 12 for step in SCALES[key.mode]}
    sounding = {board.midi_at(*place) % 12 for place in box.shape.at(box.fret)}
    return _root(box.shape, box.fret, board) == tonic or sounding <= scale


def _struck(score: Score) -> _Struck:
    """Return where each placed note is struck, as bar and beat, in order, low strings first."""
    found = [
        ((bar.number, event.beat), head.take.placement)
        for bar in score.bars
        for voice in bar.voices
        for event in voice
        for head in event.notes
        if not head.tied_from and head.take.placement is not None
    ]
    return sorted(found, key=lambda item: (item[0], -item[1].string))


def _shape_for(letter: str, symbol: str) -> Shape | None:
    """Return the shape of a chord symbol, or None where the table has none of that quality."""
    chord = re.fullmatch(r"[A-G][#b♯♭]?(.*)", symbol.partition("/")[0])
    named = next((name for name, sign in QUALITY_SIGNS.items() if chord and sign == chord.group(1)), None)
    return next((shape for shape in chord_shapes() if shape.letter == letter and shape.quality == named), None)


def _name(shape: Shape, fret: int, board: Fretboard, score: Score) -> str:
    root = spell([48 + (_root(shape, fret, board)) % 12], score.key)[0]
    return f"{name_text(root)}{QUALITY_SIGNS[shape.quality]}"


def _root(shape: Shape, fret: int, board: Fretboard) -> int:
    """Return the pitch class that sounds as the shape's root."""
    return (OPEN_ROOT[shape.letter] + fret + board.capo) % 12


def _diagram(name: str, shape: Shape, fret: int, played: Iterable[Placement], board: Fretboard) -> Diagram:
    fingers: dict[tuple[int, int], int | None] = {}
    for place in played:
        fingers.setdefault((place.string, place.fret), place.finger)
    places = sorted(shape.at(fret), reverse=True)
    is_chord = shape in chord_shapes()
    if is_chord and not any(fingers.get(place) for place in places):
        grip, held = grip_fingers(places, board), True
    else:
        held = False
        grip = {place: finger for place in places if (finger := fingers.get(place))}
    root = _root(shape, fret, board)
    dots = tuple(
        Dot(
            string,
            at,
            grip.get((string, at)) or None,
            played=(string, at) in fingers,
            is_root=board.midi_at(string, at) % 12 == root,
        )
        for string, at in places
    )
    sounding = {string for string, _ in places}
    silent = tuple(string for string in range(STRINGS, 0, -1) if is_chord and string not in sounding)
    where = f"{shape.name}, open" if fret == 0 else f"{shape.name}, {ordinal(fret)} fret"
    return Diagram(name, where, dots, silent, board.capo, held)


def grip_fingers(places: Sequence[tuple[int, int]], board: Fretboard) -> dict[tuple[int, int], int]:
    """Return the finger for each (string, fret) of a chord held at once; empty when no hand holds it."""
    plucks = tuple(
        Pluck(f"s{string}", 0.0, 1.0, board.midi_at(string, fret), locked_string=string, locked_fret=fret)
        for string, fret in places
    )
    try:
        fingering = solve(Passage(plucks), board)
    except FingeringError:
        return {}
    if fingering.doubts:
        return {}
    return {(place.string, place.fret): place.finger for place in fingering.placements if place.finger is not None}


def _dot_words(dot: Dot) -> str:
    place = f"string {dot.string} " + ("open" if dot.fret == 0 else f"fret {dot.fret}")
    finger = f" finger {dot.finger}" if dot.finger else ""
    return place + finger + (", root" if dot.is_root else "") + ("" if dot.played else ", not played here")
