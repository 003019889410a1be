"""The open font that pictures are drawn with, so that they look the same on every machine."""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal

FONT_PATH = Path(__file__).with_name("DejaVuSans.ttf")  # licence: LICENSE-DejaVu.txt beside it
FONT_FAMILY = "DejaVu Sans"


@dataclass(frozen=True, slots=True)
class Face:
    """One font file and the names by which SVG asks for it."""

    path: Path
    family: str
    weight: Literal["normal", "bold"] = "normal"
    style: Literal["normal", "italic"] = "normal"
    index: int = 0  # which font of the file, where it is a collection


SANS = Face(FONT_PATH, FONT_FAMILY)
# Book faces of the engraved sheet; licence: LICENSE-STIX.txt. The italic has no flat, sharp and natural signs.
SERIF = Face(FONT_PATH.with_name("STIXGeneral.ttf"), "STIXGeneral")
SERIF_BOLD = Face(FONT_PATH.with_name("STIXGeneralBol.ttf"), "STIXGeneral", weight="bold")
SERIF_ITALIC = Face(FONT_PATH.with_name("STIXGeneralItalic.ttf"), "STIXGeneral", style="italic")
FACES = (SANS, SERIF, SERIF_BOLD, SERIF_ITALIC)  # what a picture may use: hand every file to the drawing engine

_MORE: ContextVar[tuple[Face, ...]] = ContextVar("faces of other scripts that this sheet needs", default=())


@contextmanager
def with_more(faces: Sequence[Face]) -> Iterator[None]:
    """Let words be measured and drawn with these faces too where ours lack a sign."""
    before = _MORE.set(tuple(faces))
    try:
        yield
    finally:
        _MORE.reset(before)


def more_faces() -> tuple[Face, ...]:
    """Return the faces added to ours for the sheet at hand."""
    return _MORE.get()


def all_faces() -> tuple[Face, ...]:
    """Return every face that words may be drawn in now."""
    return (*FACES, *more_faces())


def is_drawable(sign: str) -> bool:
    """Whether any face can draw a character in plain print."""
    return any(has_sign(sign, face) for face in (SERIF, SANS, *more_faces()))


def text_width(text: str, size: float, face: Face = SANS) -> float:
    """Return how wide a line of text is in a face, in the unit of ``size`` (the font's height of an em).

    Advance widths from the font's hmtx table by way of its cmap (ISO/IEC 14496-22); kerning is left out, which makes
    a line a shade too wide, never too narrow by more than a hair.
    """
    glyphs, advances, units_per_em = _metrics(face.path, face.index)
    return size * sum(advances[min(glyphs.get(ord(sign), 0), len(advances) - 1)] for sign in text) / units_per_em


def has_sign(sign: str, face: Face = SANS) -> bool:
    """Whether a face can draw a character."""
    return _metrics(face.path, face.index)[0].get(ord(sign), 0) != 0


def glyph_numbers(face: Face) -> Mapping[int, int]:
    """Return the number of the glyph that draws each code point the face has. Read it, never change it."""
    return _metrics(face.path, face.index)[0]


def table_places(data: bytes, index: int = 0) -> dict[bytes, tuple[int, int]]:
    """Return where each table of a font lies in its file, and how long it is; ``index`` counts in a collection."""
    start = struct.unpack_from(">I", data, 12 + 4 * index)[0] if data[:4] == b"ttcf" else 0
    tables = {}
    for k in range(struct.unpack_from(">H", data, start + 4)[0]):
        tag, _, offset, length = struct.unpack_from(">4sIII", data, start + 12 + 16 * k)
        tables[tag] = (offset, length)
    return tables


@lru_cache(maxsize=16)  # our own, and those of a search through the fonts of a machine only for a while
def _metrics(path: Path, index: int) -> tuple[dict[int, int], tuple[int, ...], int]:
    """Return glyph numbers by code point, advance widths by glyph number, and font units in an em."""
    data = path.read_bytes()
    tables = {tag: offset for tag, (offset, _) in table_places(data, index).items()}
    units_per_em = struct.unpack_from(">H", data, tables[b"head"] + 18)[0]
    n_advances = struct.unpack_from(">H", data, tables[b"hhea"] + 34)[0]
    advances = struct.unpack_from(">" + "Hh" * n_advances, data, tables[b"hmtx"])[::2]
    return _glyphs(data, tables[b"cmap"]), advances, units_per_em


def _glyphs(data: bytes, cmap: int) -> dict[int, int]:
    """Read the cmap's format 4 subtable: the basic multilingual plane in segments."""
    for k in range(struct.unpack_from(">H", data, cmap + 2)[0]):
        start = cmap + struct.unpack_from(">I", data, cmap + 4 + 8 * k + 4)[0]
        if struct.unpack_from(">H", data, start)[0] == 4:
            break
    n = struct.unpack_from(">H", data, start + 6)[0] // 2
    ends = struct.unpack_from(f">{n}H", data, start + 14)
    starts = struct.unpack_from(f">{n}H", data, start + 16 + 2 * n)
    deltas = struct.unpack_from(f">{n}H", data, start + 16 + 4 * n)
    ranges_at = start + 16 + 6 * n
    ranges = struct.unpack_from(f">{n}H", data, ranges_at)
    glyphs: dict[int, int] = {}
    for k in range(n):
        for code in range(starts[k], min(ends[k], 0xFFFE) + 1):
            if ranges[k] == 0:
                glyph = (code + deltas[k]) & 0xFFFF
            else:
                at = ranges_at + 2 * k + ranges[k] + 2 * (code - starts[k])
                glyph = struct.unpack_from(">H", data, at)[0]
                glyph = (glyph + deltas[k]) & 0xFFFF if glyph else 0
            if glyph:
                glyphs[code] = glyph
    return glyphs
