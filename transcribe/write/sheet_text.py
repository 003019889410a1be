"""Words on a page: measured with the font files, broken into lines, drawn as SVG."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import groupby
from xml.sax.saxutils import escape

from transcribe.write.fonts import (
    SANS,
    SERIF,
    SERIF_BOLD,
    SERIF_ITALIC,
    Face,
    has_sign,
    is_drawable,
    more_faces,
    text_width,
)
from transcribe.write.svg import element

ELLIPSIS, ACCIDENTALS = "…", "♭♮♯"


def plain(words: str) -> str:
    """Return words as one line: line ends, tabs and control characters of other programs become single spaces."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in words).split())


def drawable(words: str) -> str:
    """Return words as one line without the signs that no face of the sheet has: a box would tell nobody anything.

    >>> drawable("Lamp \u706f room")
    'Lamp room'
    """
    return plain("".join(sign for sign in plain(words) if sign == " " or is_drawable(sign)))


def pretty(words: str) -> str:
    """Return words with printed accidentals: ``F#m7`` and ``Bb`` with their signs, degrees such as b3 too.

    >>> pretty("Bb7 is b7 of C, not of F#m; a bad b")
    'B♭7 is ♭7 of C, not of F♯m; a bad b'
    """
    words = re.sub(r"(?<![A-Za-z])([A-G])b(?![a-z])", r"\1♭", words)
    words = re.sub(r"(?<![A-Za-z])([A-G])b(?=m(?:aj|in)?\d*(?![a-z]))", r"\1♭", words)
    words = re.sub(r"(?<![A-Za-z])b(?=\d|[IViv]+\b)", "♭", words)
    return re.sub(r"(?<![A-Za-z])([A-G]?)#(?=[\dA-Za-z\s/.,;:)]|$)", r"\1♯", words)


def runs(words: str, face: Face) -> tuple[tuple[Face, str], ...]:
    """Return the words cut where another face has to draw a sign.

    >>> [(face.style, part) for face, part in runs("A♭ major", SERIF_ITALIC)]
    [('italic', 'A'), ('normal', '♭'), ('italic', ' major')]
    """
    faces = [face_for(sign, face) for sign in words]
    for at, sign in enumerate(
        words
    ):  # words of another script keep together, so that those from right to left can turn
        if sign == " " and 0 < at < len(words) - 1 and faces[at - 1] == faces[at + 1]:
            faces[at] = faces[at - 1]
    cut = groupby(zip(faces, words, strict=True), key=lambda pair: pair[0])
    return tuple((key, "".join(sign for _, sign in group)) for key, group in cut)


def face_for(sign: str, face: Face) -> Face:
    """Return the face that draws a sign: the one asked for, else the upright book face, the sans, one added to them.

    Accidentals are never bold: the bold ones stand out of their line.
    """
    asked = () if face == SERIF_BOLD and sign in ACCIDENTALS else (face,)
    return next((one for one in (*asked, SERIF, SANS, *more_faces()) if has_sign(sign, one)), SANS)


def width_of(words: str, size: float, face: Face = SERIF) -> float:
    """Return how wide words are in points, each sign in the face that draws it."""
    return sum(text_width(part, size, part_face) for part_face, part in runs(words, face))


def wrapped(words: str, size: float, room: float, face: Face = SERIF) -> list[str]:
    """Return lines no wider than ``room``, broken at spaces; a word wider than that is broken between its letters."""
    lines: list[str] = []
    for word in drawable(words).split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, size, face) <= room:
            lines[-1] = longer
            continue
        pieces = _broken(word, size, room, face)
        lines += pieces
    return [line for line in lines if line]


def _broken(word: str, size: float, room: float, face: Face) -> list[str]:
    if width_of(word, size, face) <= room:
        return [word]
    pieces = [""]
    for sign in word:
        if pieces[-1] and width_of(pieces[-1] + sign, size, face) > room:
            pieces.append("")
        pieces[-1] += sign
    return pieces


def shortened(words: str, size: float, room: float, face: Face = SERIF) -> str:
    """Return words that fit in ``room``, the end left out where they do not."""
    words = drawable(words)
    if width_of(words, size, face) <= room:
        return words
    while words and width_of(words + ELLIPSIS, size, face) > room:
        words = words[:-1]
    return words.rstrip() + ELLIPSIS


def line(words: str, x: float, y: float, *, size: float, fill: str, face: Face = SERIF, anchor: str = "start") -> str:
    """Return one line of text whose baseline starts at x, y (or is centred or ends there, by ``anchor``).

    Signs that the face lacks are drawn in a face that has them, so that every reader shows the same.
    """
    pieces = []
    for part_face, part in runs(words, face):
        look = style(part_face) if part_face != face else {}
        pieces.append(element("tspan", escape(part), **look) if look else escape(part))
    words_in = "".join(pieces)
    place = {} if anchor == "start" else {"text_anchor": anchor}
    return element("text", words_in, x=x, y=y, font_size=size, fill=fill, **style(face), **place)


def style(face: Face) -> dict[str, str]:
    """Return the attributes that ask for a face."""
    return {"font_family": face.family, "font_weight": face.weight, "font_style": face.style}


def missing_signs(words: Sequence[str]) -> str:
    """Return the signs that no face of the sheet can draw, each once, in order."""
    seen = dict.fromkeys(sign for text in words for sign in plain(text))
    return "".join(sign for sign in seen if sign != " " and not is_drawable(sign))


__all__ = [
    "SERIF",
    "SERIF_BOLD",
    "SERIF_ITALIC",
    "SANS",
    "drawable",
    "line",
    "missing_signs",
    "plain",
    "shortened",
    "wrapped",
]
