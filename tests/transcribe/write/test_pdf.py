"""The PDF as an independent reader sees it: pages, fonts inside, text to select, outlines instead of dots."""

import io
import re
import sys
from dataclasses import replace

import pytest
from pypdf import PdfReader

from tests.golden.licks import doubted
from tests.sheet_systems import signs, systems
from transcribe.errors import MissingExtraError, ScoreError
from transcribe.score.build import build_score
from transcribe.write.engraver.system import System
from transcribe.write.pdf import sheet_pdf
from transcribe.write.sheet import compose, sheet_of
from transcribe.write.sheet_options import SheetOptions
from transcribe.write.sheet_text import SANS, width_of


def sheet(title="Lamp over Bb ♭♯♮", count=2, music=None, **options):
    score = build_score(doubted(), title=title)
    return compose(score, music or systems(count), signs(), SheetOptions(**options), take="lamp.wav")


@pytest.fixture(scope="module")
def reader():
    return PdfReader(io.BytesIO(sheet_pdf(sheet(count=14))))


@pytest.mark.parametrize(("paper", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_pages_are_as_large_as_the_paper(paper, size):
    """ISO 216 gives A4 as 210 by 297 mm; ANSI letter is 8.5 by 11 inches."""
    page = PdfReader(io.BytesIO(sheet_pdf(sheet(paper=paper)))).pages[0]
    assert [float(side) / 72 * 25.4 for side in page.mediabox[2:]] == pytest.approx(size, abs=0.1)


def test_every_font_is_embedded(reader):
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert len({font["/BaseFont"] for font in fonts}) >= 3  # book face, its bold, and the sans of the fret numbers
    for font in fonts:
        assert "/FontFile2" in font["/FontDescriptor"].get_object()
        assert "/ToUnicode" in font


def test_text_can_be_read_and_searched(reader):
    text = reader.pages[0].extract_text()
    assert "Lamp over Bb" in text
    assert "♭♯♮" in text
    assert "system1" in text
    everything = "".join(page.extract_text() for page in reader.pages)
    assert "two trackers disagree by an octave" in everything
    assert "meaning of sign 3" in everything


def test_music_is_drawn_in_outlines_not_dots(reader):
    assert not any(page.images for page in reader.pages)
    assert re.search(r" c\s", reader.pages[0].get_contents().get_data().decode("latin-1"))


def test_title_and_language_are_told(reader):
    assert reader.metadata.title == "Lamp over Bb ♭♯♮"
    assert "4/4" in reader.metadata.subject or "6/8" in reader.metadata.subject
    assert reader.trailer["/Root"]["/Lang"] == "en"


def test_pages_are_numbered_and_carry_the_title(reader):
    assert len(reader.pages) > 1
    for number, page in enumerate(reader.pages, start=1):
        text = page.extract_text()
        assert f"{number} of {len(reader.pages)}" in text
        assert "Lamp over Bb" in text


def test_words_stand_where_the_page_says():
    """The fret text of the made system: x 200, y 130 units from its corner, which lies under heading and margin."""
    found = {}

    def visit(text, matrix, text_matrix, font, size):
        if "system" in text:
            found[text.strip()] = (text_matrix, matrix)

    options = SheetOptions(show=frozenset())
    made = sheet(music=systems(2))
    PdfReader(io.BytesIO(sheet_pdf(made))).pages[0].extract_text(visitor_text=visit)

    def place(name):
        (*_, e, f), (g, h, i, j, k, m) = found[name]
        return e * g + f * i + k, e * h + f * j + m

    (x1, y1), (x2, y2) = place("system1"), place("system2")
    assert x1 == pytest.approx(x2)
    middle = x1 + options.unit * width_of("system1", 12, SANS) / 2
    assert middle == pytest.approx(options.margin + 200 * options.unit, abs=0.1)
    assert y1 - y2 == pytest.approx(190 * options.unit + 20, abs=0.1)


def test_words_from_right_to_left_stand_in_their_order():
    """Hebrew for "new melody": a reader of PDFs, which takes what is drawn from right to left, reads it rightly."""
    text = PdfReader(io.BytesIO(sheet_pdf(sheet(title="Lick מנגינה חדשה")))).pages[0].extract_text()
    assert "מנגינה חדשה" in text


def test_equal_sheets_give_equal_files():
    assert sheet_pdf(sheet()) == sheet_pdf(sheet())


def test_dark_paper_is_filled():
    data = PdfReader(io.BytesIO(sheet_pdf(sheet(theme="dark")))).pages[0].get_contents().get_data().decode("latin-1")
    assert ".086275 .094118 .105882 rg" in data  # #16181b, the paper of the dark theme


@pytest.mark.parametrize(
    "body", ['<image href="x.png"/>', '<text font-family="Nobody">a</text>', "<text><a>b</a></text>"]
)
def test_what_cannot_be_drawn_is_refused_rather_than_left_out(body):
    with pytest.raises(ScoreError):
        sheet_pdf(sheet(music=(System(body, 1000, 100, 1, 1, (), (), ()),)))


def test_without_the_pdf_library_the_message_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "reportlab.pdfgen.canvas", None)
    with pytest.raises(MissingExtraError, match="pip install reportlab"):
        sheet_pdf(sheet())


# Tags: ISO 32000-1, 14.7 (logical structure) and 14.8 (tagged PDF) ---------------------------------------------------


def leaves(reader):
    root = reader.trailer["/Root"]["/StructTreeRoot"]
    assert root["/Type"] == "/StructTreeRoot"
    body = root["/K"].get_object()
    assert body["/S"] == "/Document"
    return [kid.get_object() for kid in body["/K"]]


def test_the_document_says_that_it_is_tagged(reader):
    catalog = reader.trailer["/Root"]
    assert catalog["/MarkInfo"]["/Marked"]
    assert all(page["/Tabs"] == "/S" for page in reader.pages)


def test_parts_stand_in_reading_order(reader):
    """Title, facts, music, then each heading with its paragraphs."""
    roles = [leaf["/S"] for leaf in leaves(reader)]
    assert roles[:2] == ["/H1", "/P"]
    assert roles.count("/H1") == 1
    assert roles.count("/Figure") == 14
    assert roles.index("/H2") > max(place for place, role in enumerate(roles) if role == "/Figure")
    assert all(roles[place + 1] == "/P" for place, role in enumerate(roles) if role == "/H2")


def test_every_picture_is_told_in_words():
    made = sheet_of(doubted(), name="lamp", options=SheetOptions())
    found = [leaf["/Alt"] for leaf in leaves(PdfReader(io.BytesIO(sheet_pdf(made)))) if leaf["/S"] == "/Figure"]
    music = next(words for words in found if words.startswith("bar 1 beat 1"))
    assert "string" in music
    assert "natural harmonic" in music
    assert all(found)


def test_signs_are_told_by_their_meaning_alone():
    made = sheet_of(doubted(), name="lamp", options=SheetOptions())
    told = [str(leaf.get("/ActualText", "")) for leaf in leaves(PdfReader(io.BytesIO(sheet_pdf(made))))]
    assert any("let the notes sound on; natural harmonic: touch the string over this fret" in words for words in told)
    assert not any("<12>" in words for words in told)


def test_every_mark_on_a_page_belongs_to_one_element_and_the_tables_agree(reader):
    """The parent tree leads from a page and mark back to the element that holds it; what is left is decoration."""
    numbers = reader.trailer["/Root"]["/StructTreeRoot"]["/ParentTree"].get_object()["/Nums"]
    parents = dict(zip(numbers[::2], numbers[1::2], strict=True))
    held = [(leaf, kid) for leaf in leaves(reader) for kid in leaf["/K"]]
    seen = 0
    for page in reader.pages:
        code = page.get_contents().get_data().decode("latin-1")
        marks = [int(number) for number in re.findall(r"/MCID (\d+)>> BDC", code)]
        assert marks == list(range(len(marks)))
        assert code.count(" BDC") + code.count(" BMC") == code.count("EMC")
        at = parents[page["/StructParents"]].get_object()
        assert len(at) == len(marks)
        seen += len(marks)
    assert seen == len(held)


def test_a_paragraph_over_two_lines_is_one_element():
    long = replace(doubted(), about="Leans on the sixth and comes home to the root. " * 12)
    made = sheet_of(long, name="lamp", options=SheetOptions())
    found = leaves(PdfReader(io.BytesIO(sheet_pdf(made))))
    assert max(len(leaf["/K"]) for leaf in found if leaf["/S"] == "/P") > 3


def test_the_outline_leads_to_the_parts(reader):
    top, inner = reader.outline
    assert top.title == "Lamp over Bb ♭♯♮"
    assert [entry.title for entry in inner] == ["Music", "Look first at", "Signs on this sheet"]
    assert reader.get_destination_page_number(inner[-1]) == len(reader.pages) - 1


@pytest.mark.parametrize(("title", "drawn"), [("Lamp 灯 room", "Lamp room"), ("灯台", "Untitled lick")])
def test_a_sign_that_no_font_has_is_left_out_and_the_file_keeps_it(title, drawn):
    reader = PdfReader(io.BytesIO(sheet_pdf(sheet(title=title))))
    assert reader.pages[0].extract_text().splitlines()[0] == drawn
    assert reader.metadata.title == title
