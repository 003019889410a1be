"""Scores with published Roman-numeral analyses, from the corpus of music21 (extra ``benchmark``), as plain values.

Bach chorales 1 to 20 of the Riemenschneider edition, analysts Andrew Jones and Dmitri Tymoczko, proofread by Hamish
Robb; and madrigals of Monteverdi's books 3 to 5, analysts as their files name them. The analyses are RomanText (D.
Tymoczko, M. Gotham, M. S. Cuthbert, C. Ariza, "The RomanText format", ISMIR 2019).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from transcribe.harmony.key import MAJOR_FIFTHS, MINOR_FIFTHS, Key
from transcribe.harmony.sounding import Sounded, strength
from transcribe.rhythm.rhythm import Meter, Rhythm

CHORALES, MADRIGALS = "bach/choraleAnalyses", "monteverdi"
# RomanText writes the quality of a chord and its figures with other signs than the books' typography.
SIGNS = ((r"/o(?=[0-9]|$)", "ø"), (r"o", "°"), (r"(\d)/(?=\d)", r"\1"), (r"(?<=[IViv°ø])2(?!\d)", "42"))


@dataclass(frozen=True, slots=True)
class Numeral:
    """One analysed chord: from ``start`` to ``end`` in quarters, in the key that the analyst reads it in."""

    start: Fraction
    end: Fraction
    key: Key
    figure: str  # "V65", "viiø7/V"
    root: int  # pitch class
    classes: frozenset[int]
    bass: int


@dataclass(frozen=True, slots=True)
class Analysed:
    """A score: what sounds, its numerals, and where its phrases end (fermatas; chorales alone)."""

    name: str
    analyst: str
    meter: Meter
    line: tuple[Sounded, ...]
    numerals: tuple[Numeral, ...]
    ends: tuple[Fraction, ...]


def analysed_scores(folder: str = CHORALES) -> Iterator[Analysed]:
    """Yield the scores of a folder whose analysis can be laid over its notes, in order of name."""
    import music21

    base = Path(music21.__file__).parent / "corpus"
    for path in sorted((base / folder).glob("*.rntxt")):
        text = path.read_text(encoding="utf-8", errors="replace")
        number = re.search(r"^BWV:\s*(\S+)", text, re.MULTILINE)
        analyst = re.search(r"^Analyst:\s*(.+)", text, re.MULTILINE)
        work = f"bwv{number[1].rstrip('s')}" if number else f"monteverdi/{path.stem}"
        try:
            score = music21.corpus.parse(work)
            analysis = music21.converter.parse(str(path), format="romanText")
        except Exception:  # a file that the library cannot read says nothing about us
            continue
        yield _analysed(f"{path.stem} ({work})", analyst[1].strip() if analyst else "not named", score, analysis)


def figure_in_books(figure: str) -> str:
    """Return a figure as the books print it.

    >>> figure_in_books("viio6/5"), figure_in_books("ii/o6/5"), figure_in_books("V2/IV")
    ('vii°65', 'iiø65', 'V42/IV')
    """
    for pattern, sign in SIGNS:
        figure = re.sub(pattern, sign, figure)
    return figure


def _analysed(name: str, analyst: str, score: Any, analysis: Any) -> Analysed:
    bars = {bar.number: Fraction(bar.offset) for bar in reversed(list(score.parts[0].getElementsByClass("Measure")))}
    zero = bars.get(1, Fraction(0))
    signature = score.parts[0].recurse().getElementsByClass("TimeSignature").first()
    meter = Meter(signature.numerator, signature.denominator)
    return Analysed(
        name, analyst, meter, _line(score, zero, meter), tuple(_numerals(analysis, bars, zero)),
        tuple(sorted({
            Fraction(note.getOffsetInHierarchy(score.parts[0])) - zero
            for note in score.parts[0].recurse().notes
            if any(type(mark).__name__ == "Fermata" for mark in note.expressions)
        })),
    )  # fmt: skip


def _line(score: Any, zero: Fraction, meter: Meter) -> tuple[Sounded, ...]:
    rhythm = Rhythm(80.0, meter, 0.0)
    found = []
    for number, part in enumerate(score.parts):
        for index, note in enumerate(part.flatten().stripTies().notes):
            if note.duration.isGrace or note.quarterLength <= 0:
                continue
            start, length = Fraction(note.offset) - zero, Fraction(note.quarterLength)
            for pitch in note.pitches:
                found.append(
                    Sounded(f"p{number}n{index}", pitch.midi, pitch.midi, start, length, start + length,
                            strength(start, rhythm))
                )  # fmt: skip
    return tuple(sorted(found, key=lambda one: (one.start, one.pitch, one.id)))


def _numerals(analysis: Any, bars: dict[int, Fraction], zero: Fraction) -> Iterator[Numeral]:
    for bar in analysis.parts[0].getElementsByClass("Measure"):
        if bar.number not in bars:
            continue
        for numeral in bar.getElementsByClass("RomanNumeral"):
            tonic, mode = numeral.key.tonic.name.replace("-", "b"), numeral.key.mode
            if tonic not in (MAJOR_FIFTHS if mode == "major" else MINOR_FIFTHS):
                continue
            start = bars[bar.number] - zero + Fraction(numeral.offset)
            classes = frozenset(pitch.pitchClass for pitch in numeral.pitches)
            yield Numeral(
                start, start + Fraction(numeral.quarterLength), Key(tonic, mode), figure_in_books(numeral.figure),
                numeral.root().pitchClass, classes, numeral.bass().pitchClass,
            )  # fmt: skip
