"""The PDF as an independent reader sees it: pages, fonts inside, text to select, outlines instead of dots."""

import io
import re
import sys

import pytest
from pypdf import PdfReader

from tests.golden.licks import doubted
from tests.sheet_systems import signs, systems
from transcribe.errors import MissingExtraError, ScoreError
from transcribe.score.build import build_score
from transcribe.write.engraver.system import System
from transcribe.write.pdf import sheet_pdf
from transcribe.write.sheet import compose
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
