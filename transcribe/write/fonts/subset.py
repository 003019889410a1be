"""The part of a font that a picture needs, small enough to travel inside it.

Glyphs keep their numbers; those not needed are emptied, which compresses to next to nothing. Layout tables are left
out: our text is placed without kerning and ligatures. Formats: ISO/IEC 14496-22 (OpenType), W3C WOFF 1.0.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path

from transcribe.write.fonts import Face, glyph_numbers, table_places

KEPT = (b"OS/2", b"cvt ", b"fpgm", b"head", b"hhea", b"maxp", b"name", b"prep")  # copied as they are
MORE_COMPONENTS, WORDS, SCALE, X_AND_Y_SCALE, TWO_BY_TWO = 0x20, 0x01, 0x08, 0x40, 0x80  # composite glyph flags
Tables = dict[bytes, bytes]


def woff_subset(face: Face, signs: Iterable[str]) -> bytes:
    """Return a WOFF 1.0 font that draws these signs (those the face has) as the whole font does."""
    tables = subset_tables(face, signs)
    entries, body = b"", b""
    at = 44 + 20 * len(tables)
    for tag, data in sorted(tables.items()):
        packed = zlib.compress(data, 9)
        stored = packed if len(packed) < len(data) else data
        entries += struct.pack(">4sIIII", tag, at, len(stored), len(data), _checksum(data))
        stored += b"\0" * (-len(stored) % 4)
        body += stored
        at += len(stored)
    whole = 12 + 16 * len(tables) + sum(len(data) + -len(data) % 4 for data in tables.values())
    header = struct.pack(
        ">4sIIHHIHHIIIII",
        b"wOFF",
        0x00010000,
        44 + len(entries) + len(body),
        len(tables),
        0,
        whole,
        1,
        0,
        0,
        0,
        0,
        0,
        0,
    )
    return header + entries + body


def ttf_subset(face: Face, signs: Iterable[str]) -> bytes:
    """Return the same as a TrueType file, for engines that read no WOFF."""
    tables = subset_tables(face, signs)
    count = len(tables)
    power = count.bit_length() - 1
    out = struct.pack(">IHHHH", 0x00010000, count, 16 << power, power, 16 * count - (16 << power))
    body = b""
    for tag, data in sorted(tables.items()):
        out += struct.pack(">4sIII", tag, _checksum(data), 12 + 16 * count + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    return out + body


def subset_tables(face: Face, signs: Iterable[str]) -> Tables:
    """Return the font's tables with the glyphs of these signs alone."""
    tables = _tables(face.path, face.index)
    known = glyph_numbers(face)
    codes = {ord(sign): known[ord(sign)] for sign in set(signs) if ord(sign) in known}
    offsets = _offsets(tables)
    wanted = _with_components({0, *codes.values()}, tables[b"glyf"], offsets)
    glyf, loca = b"", []
    for glyph in range(len(offsets) - 1):
        loca.append(len(glyf))
        if glyph in wanted:
            outline = tables[b"glyf"][offsets[glyph] : offsets[glyph + 1]]
            glyf += outline + b"\0" * (-len(outline) % 4)
    loca.append(len(glyf))
    found = {tag: tables[tag] for tag in KEPT if tag in tables}
    head = bytearray(found[b"head"])
    struct.pack_into(">h", head, 50, 1)  # long offsets
    found |= {
        b"head": bytes(head),
        b"glyf": glyf,
        b"loca": struct.pack(f">{len(loca)}I", *loca),
        b"hmtx": _advances(tables, wanted),
        b"cmap": _cmap(codes),
        b"post": struct.pack(">IIhhIIIII", 0x00030000, 0, 0, 0, 0, 0, 0, 0, 0),
    }
    return found


@cache
def _tables(path: Path, index: int) -> Mapping[bytes, bytes]:
    data = path.read_bytes()
    return {tag: data[offset : offset + length] for tag, (offset, length) in table_places(data, index).items()}


def _offsets(tables: Mapping[bytes, bytes]) -> tuple[int, ...]:
    """Return where each glyph's outline begins in the glyf table, and its end."""
    loca = tables[b"loca"]
    if struct.unpack_from(">h", tables[b"head"], 50)[0]:
        return struct.unpack(f">{len(loca) // 4}I", loca)
    return tuple(2 * half for half in struct.unpack(f">{len(loca) // 2}H", loca))


def _with_components(wanted: set[int], glyf: bytes, offsets: tuple[int, ...]) -> set[int]:
    """Return the glyphs wanted and those that they are put together from."""
    found: set[int] = set()
    waiting = list(wanted)
    while waiting:
        glyph = waiting.pop()
        if glyph in found:
            continue
        found.add(glyph)
        at = offsets[glyph]
        if at == offsets[glyph + 1] or struct.unpack_from(">h", glyf, at)[0] >= 0:
            continue
        at, flags = at + 10, MORE_COMPONENTS
        while flags & MORE_COMPONENTS:
            flags, component = struct.unpack_from(">HH", glyf, at)
            waiting.append(component)
            at += 4 + (4 if flags & WORDS else 2)
            at += 2 if flags & SCALE else 4 if flags & X_AND_Y_SCALE else 8 if flags & TWO_BY_TWO else 0
    return found


def _advances(tables: Mapping[bytes, bytes], wanted: set[int]) -> bytes:
    """Return the hmtx table with the widths of glyphs not wanted set to 0."""
    count = struct.unpack_from(">H", tables[b"hhea"], 34)[0]
    hmtx = bytearray(tables[b"hmtx"])
    for glyph in range(count - 1):  # the last width serves all glyphs after it
        if glyph not in wanted:
            hmtx[4 * glyph : 4 * glyph + 4] = b"\0\0\0\0"
    return bytes(hmtx)


def _cmap(codes: Mapping[int, int]) -> bytes:
    """Return a cmap of one format 4 subtable, a segment a sign."""
    ordered = [*sorted(codes.items()), (0xFFFF, 0)]
    n = len(ordered)
    power = n.bit_length() - 1
    points = [code for code, _ in ordered]
    deltas = [(glyph - code) & 0xFFFF for code, glyph in ordered]
    lengths = struct.pack(">HHHH", 2 * n, 2 << power, power, 2 * n - (2 << power))
    segments = struct.pack(f">{n}HH{n}H{n}H{n}H", *points, 0, *points, *deltas, *([0] * n))
    subtable = struct.pack(">HHH", 4, 6 + len(lengths) + len(segments), 0) + lengths + segments
    return struct.pack(">HHHHI", 0, 1, 3, 1, 12) + subtable


def _checksum(data: bytes) -> int:
    padded = data + b"\0" * (-len(data) % 4)
    return sum(struct.unpack(f">{len(padded) // 4}I", padded)) & 0xFFFFFFFF
