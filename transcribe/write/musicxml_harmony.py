"""Chord symbols as MusicXML harmony elements: root, kind, alterations, bass; the place in the key as a numeral."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from transcribe.score.score import ChordMark
from transcribe.write.musicxml_note import NOTATION, add

if TYPE_CHECKING:
    from lxml.etree import _Element

# Endings of chord symbols (common practice) and the names MusicXML 4.0 has for them (kind-value).
KINDS = {
    "": "major", "maj": "major", "m": "minor", "min": "minor", "-": "minor", "5": "power",
    "dim": "diminished", "°": "diminished", "o": "diminished", "aug": "augmented", "+": "augmented",
    "7": "dominant", "maj7": "major-seventh", "M7": "major-seventh", "m7": "minor-seventh", "min7": "minor-seventh",
    "-7": "minor-seventh", "dim7": "diminished-seventh", "°7": "diminished-seventh", "aug7": "augmented-seventh",
    "+7": "augmented-seventh", "m7b5": "half-diminished", "ø": "half-diminished", "ø7": "half-diminished",
    "mMaj7": "major-minor", "m(maj7)": "major-minor", "mM7": "major-minor", "6": "major-sixth", "m6": "minor-sixth",
    "9": "dominant-ninth", "maj9": "major-ninth", "m9": "minor-ninth", "11": "dominant-11th", "maj11": "major-11th",
    "m11": "minor-11th", "13": "dominant-13th", "maj13": "major-13th", "m13": "minor-13th",
    "sus2": "suspended-second", "sus4": "suspended-fourth", "sus": "suspended-fourth",
}  # fmt: skip
SYMBOL = re.compile(r"([A-G])([#b]?)(.*)", re.DOTALL)
CHANGES = re.compile(r"\(?(add|no|#|b)(\d{1,2})\)?")
ALTER = {"#": 1, "b": -1, "": 0}
NUMERAL = re.compile(r"([#b]?)(IV|VI{0,2}|I{1,3}|iv|vi{0,2}|i{1,3})(?![IVXivx])")
ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII")


def kind_of(ending: str) -> tuple[str, tuple[tuple[int, int, str], ...]]:
    """Return the MusicXML kind of a symbol's ending, and the degrees it changes as (value, alteration, type).

    An ending no table knows is of kind "other": its text still tells it.

    >>> kind_of("m7"), kind_of("7#9")
    (('minor-seventh', ()), ('dominant', ((9, 1, 'add'),)))
    """
    for length in range(len(ending), -1, -1):
        kind = KINDS.get(ending[:length])
        if kind is not None and re.fullmatch(f"({CHANGES.pattern})*", ending[length:]):
            return kind, tuple(_degree(*found) for found in CHANGES.findall(ending[length:]))
    return "other", ()


def _degree(sign: str, value: str) -> tuple[int, int, str]:
    if sign == "no":
        return int(value), 0, "subtract"
    if sign == "add":
        return int(value), 0, "add"
    return int(value), ALTER[sign], "alter" if int(value) in (3, 5) else "add"


def add_chord(measure: _Element, mark: ChordMark, offset: Fraction, divisions: int) -> None:
    """Add one chord symbol, ``offset`` quarters after the point reached in the bar.

    A symbol that begins with no note name is left out. What it does in the key stands beside it unprinted, as a
    numeral with the analyst's own text; the shape it is played in stands in its footnote.
    """
    match = SYMBOL.fullmatch(mark.symbol)
    if match is None:
        return
    step, sign, ending = match.groups()
    harmony = add(measure, "harmony", placement="above")
    root = add(harmony, "root")
    add(root, "root-step", step)
    if sign:
        add(root, "root-alter", ALTER[sign])
    kind, degrees = kind_of(ending)
    add(harmony, "kind", kind, text=" ".join(ending.split()))
    bass = SYMBOL.fullmatch(mark.over or "")
    if bass is not None and not bass[3]:
        element = add(harmony, "bass")
        add(element, "bass-step", bass[1])
        if bass[2]:
            add(element, "bass-alter", ALTER[bass[2]])
    for value, alter, type_ in degrees:
        degree = add(harmony, "degree", print_object="no")  # the kind's text tells it already
        add(degree, "degree-value", value)
        add(degree, "degree-alter", alter)
        add(degree, "degree-type", type_)
    _finish(harmony, offset, divisions, shape_text(mark))
    if mark.role:
        _add_role(measure, mark.role, offset, divisions, kind)


def add_cadence(measure: _Element, mark: ChordMark, offset: Fraction, divisions: int, voice: int) -> None:
    """Add the cadence that a chord closes as words under the staff where the chord begins, if it closes one."""
    if not mark.cadence:
        return
    direction = add(measure, "direction", placement="below")
    add(add(direction, "direction-type"), "words", f"{mark.cadence} cadence", font_style="italic")
    if offset:
        add(direction, "offset", int(offset * divisions))
    add(direction, "voice", voice)
    add(direction, "staff", NOTATION)


def shape_text(mark: ChordMark) -> str | None:
    """Return how the chord's shape is told in words: "E shape at fret 5"."""
    if mark.shape is None:
        return None
    return f"{mark.shape} shape" + ("" if mark.fret is None else f" at fret {mark.fret}")


def _add_role(measure: _Element, role: str, offset: Fraction, divisions: int, kind: str) -> None:
    harmony = add(measure, "harmony", print_object="no", placement="below")  # programs that print it all the same
    match = NUMERAL.match(role)
    if match is None:
        add(harmony, "function", role)
    else:
        numeral = add(harmony, "numeral")
        add(numeral, "numeral-root", ROMAN.index(match[2].upper()) + 1, text=" ".join(role.split()))
        if match[1]:
            add(numeral, "numeral-alter", ALTER[match[1]])
    add(harmony, "kind", kind)
    _finish(harmony, offset, divisions, None)


def _finish(harmony: _Element, offset: Fraction, divisions: int, footnote: str | None) -> None:
    if offset:
        add(harmony, "offset", int(offset * divisions))
    if footnote:
        add(harmony, "footnote", footnote)
    add(harmony, "staff", NOTATION)
