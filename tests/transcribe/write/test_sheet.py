"""The sheet as a whole: what is on it, in which order, and how it is told to those who cannot see it."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from fingering.cautions import ADVICE
from tests.golden.licks import doubted
from tests.sheet_systems import signs, systems
from transcribe.notes.note import Doubt
from transcribe.score.build import build_score
from transcribe.write.diagrams import diagrams_of
from transcribe.write.sheet import compose
from transcribe.write.sheet_options import SHOWN, SheetOptions
from transcribe.write.sheet_svg import page_svg
from transcribe.write.sheet_theme import DARK, LIGHT

SVG = "{http://www.w3.org/2000/svg}"
CAUTION = Doubt(f"take care: a stretch of 92 mm between the outer fingers. {ADVICE}", "n2")
ABOUT = "The line begins on the b7.\n\nIt ends on the root."


def sheet(count=2, title="Lamp room", about=ABOUT, doubts=True, **options):
    document = doubted()
    document = replace(document, doubts=(*document.doubts, CAUTION) if doubts else ())
    score = replace(build_score(document, title=title), about=about)
    return compose(
        score, systems(count), signs(), SheetOptions(**options), diagrams=diagrams_of(score), take="lamp.wav"
    )


def words_of(made, page=None):
    root = ElementTree.fromstring(page_svg(made, page or made.tall).encode())
    return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def test_its_parts_come_in_reading_order():
    words = words_of(sheet())
    order = [
        "Lamp room", "Draft · key E minor · take: lamp.wav", "system1", "system2", "What happens here",
        "The line begins on the ♭7.", "Take care of your hands", "Look first at", "Signs on this sheet",
    ]  # fmt: skip
    assert [words.index(part) for part in order] == sorted(words.index(part) for part in order)


def test_final_leaves_out_the_doubts_but_never_the_care_for_hands():
    words = words_of(sheet(final=True))
    assert "Look first at" not in words
    assert not any("trackers" in text or text.startswith("Draft") for text in words)
    assert "Take care of your hands" in words
    assert ADVICE in words


@pytest.mark.parametrize(
    ("part", "gone"),
    [("about", "What happens here"), ("legend", "Signs on this sheet"), ("legend", "meaning of sign 1")],
)
def test_a_part_can_be_left_out(part, gone):
    assert gone in words_of(sheet())
    assert gone not in words_of(sheet(show=frozenset(SHOWN) - {part}))


def test_nothing_is_announced_that_is_not_there():
    words = words_of(sheet(about=None, doubts=False))
    assert not {"What happens here", "Look first at", "Take care of your hands"} & set(words)


def test_pages_and_the_tall_picture_hold_the_same():
    made = sheet(count=20)
    assert len(made.pages) > 2
    tall = words_of(made)
    paged = [text for page in made.pages for text in words_of(made, page)]
    assert [text for text in paged if text in set(tall) - {"Lamp room"}] == [
        text for text in tall if text != "Lamp room"
    ]
    assert made.tall.height > made.pages[0].height


def test_it_is_a_document_with_title_description_and_language():
    root = ElementTree.fromstring(page_svg(sheet(), sheet().tall).encode())
    assert root.get("lang") == root.get("{http://www.w3.org/XML/1998/namespace}lang") == "en"
    assert root.get("role") == "graphics-document document"
    named = {part.get("id"): part.text for part in root if part.get("id")}
    assert root.get("aria-labelledby").split() == list(named)
    assert named["sheet-title"] == "Lamp room"
    assert "9 notes in 3 bars of 6/8" in named["sheet-description"]
    assert "The line begins on the b7. It ends on the root." in named["sheet-description"]


def test_each_note_keeps_its_spoken_text():
    root = ElementTree.fromstring(page_svg(sheet(), sheet().tall).encode())
    assert [title.text for title in root.iter(f"{SVG}title")][-2:] == ["note 1", "note 2"]


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_every_colour_on_it_is_the_themes(theme):
    made = sheet(theme=theme.name)
    root = ElementTree.fromstring(page_svg(made, made.tall).encode())
    colours = {part.get(key) for part in root.iter() for key in ("fill", "stroke")} - {None, "none"}
    assert colours <= {theme.paper, theme.ink, theme.soft_ink, theme.rule, theme.accent}
    assert root[2].get("fill") == theme.paper
    assert "@" not in made.tall.body


def test_a_long_title_wraps_and_stays_on_the_page():
    title = "The long way round the harbour with every lamp alight and every window open " * 3
    made = sheet(title=title, count=12)
    assert sum(text in title for text in words_of(made) if len(text) > 20) >= 3
    (running,) = [text for text in words_of(made, made.pages[1]) if text.startswith("The long way")]
    assert running.endswith("…")


def test_words_of_any_script_pass_and_missing_signs_are_named():
    made = sheet(title="<Ночь> & Μελωδία 灯")
    assert "<Ночь> & Μελωδία" in words_of(made)
    assert made.missing == "灯", "no font has it: left out of the pages, and told"
    assert made.title == "<Ночь> & Μελωδία 灯"


def test_a_system_higher_than_a_page_is_made_smaller():
    score = build_score(doubted(), title="x")
    made = compose(score, systems(2, height=3000.0), signs(), SheetOptions())
    for page in made.pages:
        root = ElementTree.fromstring(page_svg(made, page).encode())
        assert len([text for text in root.iter(f"{SVG}text") if "".join(text.itertext()).startswith("system")]) <= 1
    assert len(made.pages) >= 2


def test_large_print_words_are_at_least_sixteen_points():
    """Large print begins at 16 points (common practice); ours rounds up to it."""
    root = ElementTree.fromstring(page_svg(made := sheet(large_print=True), made.tall).encode())
    (size,) = [float(text.get("font-size")) for text in root.iter(f"{SVG}text") if text.text == "It ends on the root."]
    assert size >= 15.7


def test_a_picture_for_screens_brings_its_fonts():
    made = sheet()
    svg = page_svg(made, made.tall, with_fonts=True)
    assert svg.count("@font-face") == svg.count("src:url(data:font/woff;base64,") == 4
    assert len(svg) < 120_000
    assert "@font-face" not in page_svg(made, made.tall)


def test_a_few_lines_too_many_are_fitted_by_less_white():
    """Two to five systems: the page fills, tightens, and only then is a second one begun."""
    heights = [(len(made.pages), made.tall.height) for made in (sheet(count=count) for count in range(2, 8))]
    room = SheetOptions().page_size[1]
    assert any(pages == 1 and height > room for pages, height in heights)
    assert heights[-1][0] == 2
