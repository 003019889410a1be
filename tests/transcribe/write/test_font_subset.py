"""A part of a font draws its signs as the whole font does, for two engines that know nothing of how it was made."""

import io
import struct
import zlib

import pytest
import resvg_py
from reportlab.pdfbase.ttfonts import TTFontFile

from transcribe.write.fonts import FACES, SANS, SERIF
from transcribe.write.fonts.subset import subset_tables, ttf_subset, woff_subset

WORDS = "Lamp é ½ 0123 ♭♯ Жук"


def drawn(words, face, path):
    """A picture of the signs one by one: the whole font would draw pairs of them closer, by its kerning."""
    look = f'y="40" font-size="32" font-family="{face.family}" font-weight="{face.weight}" font-style="{face.style}"'
    signs = "".join(f'<text x="{5 + 30 * k}" {look}>{sign}</text>' for k, sign in enumerate(words))
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="640" height="60">{signs}</svg>'
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, skip_system_fonts=True, font_files=[str(path)]))


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.path.stem)
def test_its_signs_look_the_same(face, tmp_path):
    """Accented letters are put together from other glyphs, which must come along."""
    (tmp_path / "part.ttf").write_bytes(ttf_subset(face, WORDS))
    assert drawn(WORDS, face, tmp_path / "part.ttf") == drawn(WORDS, face, face.path)


def test_signs_left_out_are_not_drawn(tmp_path):
    (tmp_path / "part.ttf").write_bytes(ttf_subset(SERIF, "Lam"))
    assert drawn("Lamp", SERIF, tmp_path / "part.ttf") != drawn("Lamp", SERIF, SERIF.path)
    assert drawn("Lam", SERIF, tmp_path / "part.ttf") == drawn("Lam", SERIF, SERIF.path)


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.path.stem)
def test_another_reader_finds_names_and_widths(face):
    """The PDF library's own reader of TrueType files."""
    whole, part = TTFontFile(str(face.path)), TTFontFile(io.BytesIO(ttf_subset(face, WORDS)))
    assert part.name == whole.name
    for sign in WORDS:
        if ord(sign) in whole.charWidths:
            assert part.charWidths[ord(sign)] == whole.charWidths[ord(sign)]


def test_woff_holds_the_same_tables():
    """W3C WOFF 1.0, section 4: 44 bytes of header, 20 for each table, sorted by tag, each at a multiple of 4."""
    data, tables = woff_subset(SANS, WORDS), subset_tables(SANS, WORDS)
    signature, flavor, length, count = struct.unpack_from(">4sIIH", data)
    assert (signature, flavor, length, count) == (b"wOFF", 0x00010000, len(data), len(tables))
    tags = []
    for k in range(count):
        tag, offset, stored, size, _ = struct.unpack_from(">4sIIII", data, 44 + 20 * k)
        packed = data[offset : offset + stored]
        assert offset % 4 == 0
        assert (zlib.decompress(packed) if stored < size else packed) == tables[tag]
        tags.append(tag)
    assert tags == sorted(tables)


def test_a_few_signs_weigh_a_few_kilobytes():
    assert len(woff_subset(SANS, WORDS)) < 16_000 < SANS.path.stat().st_size / 10
