"""Signs that our fonts lack are drawn in a font of the machine, found by what it holds."""

import io
import struct
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.golden.licks import bends
from transcribe.errors import ReadError, SettingsError
from transcribe.write.fonts import FONT_PATH, SANS, glyph_numbers, has_sign, table_places
from transcribe.write.fonts.other_scripts import faces_for
from transcribe.write.pdf import sheet_pdf
from transcribe.write.png import page_png
from transcribe.write.sheet import sheet_of
from transcribe.write.sheet_options import SheetOptions
from transcribe.write.sheet_svg import page_svg

LAMP, NIGHT = "灯", "夜"
NAMES = (("DejaVu Sans", "Quay Lights"), ("DejaVuSans", "QuayLights"))  # of the family and of the font, old and new


def font_with(signs: str, *, rights: int = 0, collection: bool = False) -> bytes:
    """A made font: DejaVu Sans under another name that draws an A for each of some signs and knows nothing else."""
    data = FONT_PATH.read_bytes()
    tables = {tag: data[at : at + length] for tag, (at, length) in table_places(data).items()}
    tables[b"cmap"] = cmap(signs, glyph_numbers(SANS)[ord("A")])
    for old, new in NAMES:
        for code in ("utf-16-be", "latin-1"):
            tables[b"name"] = tables[b"name"].replace(old.encode(code), new.encode(code))
    tables[b"OS/2"] = tables[b"OS/2"][:8] + struct.pack(">H", rights) + tables[b"OS/2"][10:]
    lead = struct.pack(">4sIII", b"ttcf", 0x00010000, 1, 16) if collection else b""
    at = len(lead) + 12 + 16 * len(tables)
    entries, body = b"", b""
    for tag, content in sorted(tables.items()):
        entries += struct.pack(">4sIII", tag, 0, at + len(body), len(content))
        body += content + b"\0" * (-len(content) % 4)
    return lead + struct.pack(">IHHHH", 0x00010000, len(tables), 0, 0, 0) + entries + body


def cmap(signs: str, glyph: int) -> bytes:
    """One format 4 table, a segment a sign (ISO/IEC 14496-22, cmap)."""
    points = [*sorted(map(ord, signs)), 0xFFFF]
    deltas = [(glyph - code) & 0xFFFF for code in points[:-1]] + [1]
    n = len(points)
    rest = struct.pack(f">{n}HH{n}H{n}H{n}H", *points, 0, *points, *deltas, *([0] * n))
    table = struct.pack(">7H", 4, 14 + len(rest), 0, 2 * n, 0, 0, 0) + rest
    return struct.pack(">HHHHI", 0, 1, 3, 1, 12) + table


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "lamp.ttf").write_bytes(font_with(LAMP))
    (tmp_path / "both.ttc").write_bytes(font_with(LAMP + NIGHT, collection=True))
    (tmp_path / "broken.ttf").write_bytes(b"\0\1\0\0no font")
    (tmp_path / "words.txt").write_text(LAMP)
    return tmp_path


def test_the_font_that_holds_most_of_the_signs_is_taken_and_collections_are_opened(folder):
    (face,) = faces_for(LAMP + NIGHT, folders=[folder])
    assert face.path.name == "both.ttc"
    assert has_sign(NIGHT, face)
    assert faces_for("", folders=[folder]) == ()
    assert faces_for("\ue000", folders=[folder]) == ()


def test_the_font_named_comes_first_and_others_fill_what_it_lacks(folder):
    first, second = faces_for(LAMP + NIGHT, font=folder / "a" / "lamp.ttf", folders=[folder])
    assert (first.path.name, second.path.name) == ("lamp.ttf", "both.ttc")


@pytest.mark.parametrize("rights", [0x0002, 0x0100])
def test_a_font_that_may_not_be_embedded_in_part_is_left_alone(tmp_path, rights):
    (tmp_path / "own.ttf").write_bytes(font_with(LAMP, rights=rights))
    assert faces_for(LAMP, folders=[tmp_path]) == ()


def test_a_named_file_that_is_no_font_is_told(folder):
    with pytest.raises(ReadError, match=r"words\.txt is no font"):
        faces_for(LAMP, font=folder / "words.txt", folders=[])


@pytest.mark.parametrize("name", ["a/lamp.ttf", "both.ttc"])
def test_a_title_is_printed_in_it_in_every_format(folder, name):
    options = SheetOptions(title=f"Lamp {LAMP} room", font=folder / name)
    sheet = sheet_of(bends(), name="lick", options=options)
    assert sheet.missing == ""
    reader = PdfReader(io.BytesIO(sheet_pdf(sheet)))
    assert f"Lamp {LAMP} room" in " ".join(reader.pages[0].extract_text().split())
    assert any("Quay" in str(font["/BaseFont"]) for font in fonts(reader))
    svg = page_svg(sheet, sheet.tall, with_fonts=True)
    assert LAMP in svg
    assert 'font-family:"Quay Lights"' in svg
    plain = sheet_of(bends(), name="lick", options=SheetOptions(title="Lamp   room"))
    assert page_png(sheet, sheet.pages[0]) != page_png(plain, plain.pages[0])


def fonts(reader):
    return [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]


def test_a_title_that_no_font_can_print_is_refused(folder):
    with pytest.raises(SettingsError, match=f"no font here has the signs {NIGHT}"):
        sheet_of(bends(), name="x", options=SheetOptions(title=f"{NIGHT} A", font=folder / "a" / "lamp.ttf"))
