"""A chord diagram drawn: marks on their strings and frets, words for those who cannot see it."""

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from transcribe.write.diagram_picture import (
    BARRE,
    FRET_GAP,
    STRING_GAP,
    above,
    diagram_height,
    diagram_picture,
    diagram_width,
    frets_shown,
)
from transcribe.write.diagrams import Diagram, Dot
from transcribe.write.sheet_theme import LIGHT

BARRED = Diagram(
    "F#m7",
    "E-shape minor seventh, 2nd fret",
    (Dot(6, 2, 1, True, True), Dot(5, 4, 3, True, False), Dot(4, 2, 1, False, False), Dot(1, 2, 1, True, True)),
    (3, 2),
    held=True,
)
OPEN = Diagram("A", "A-shape, open", (Dot(5, 0, None, True, True), Dot(4, 2, 1, True, False)), (6,))


def drawn(diagram, scale=1.0):
    return ElementTree.fromstring(diagram_picture(diagram, LIGHT, scale))


def test_it_is_spoken_as_words():
    picture = drawn(BARRED)
    assert picture.get("role") == "img"
    assert picture[0].tag == "title"
    assert picture[0].text.startswith("F#m7, E-shape minor seventh, 2nd fret: string 6 fret 2 finger 1, root; string 5")
    assert "string 4 fret 2 finger 1, not played here" in picture[0].text


def test_the_name_is_printed_with_its_accidental():
    assert "F♯m7" in ["".join(words.itertext()) for words in drawn(BARRED).iter("text")]


def test_marks_stand_on_their_strings_and_frets():
    """Shown from the nut; string 5 is the second line from the left."""
    roots = list(drawn(BARRED).iter("rect"))
    circles = list(drawn(BARRED).iter("circle"))
    low = float(roots[0].get("x")) + float(roots[0].get("width")) / 2
    assert frets_shown(BARRED) == (1, 4)
    fifth = circles[0]
    assert float(fifth.get("cx")) - low == pytest.approx(STRING_GAP, abs=0.02)
    assert float(fifth.get("cy")) == pytest.approx(above(BARRED) + FRET_GAP * 3.5, abs=0.02)


def test_what_is_played_is_filled_and_what_is_not_is_hollow():
    fifth, fourth = drawn(BARRED).iter("circle")
    assert (fifth.get("fill"), fourth.get("fill")) == (LIGHT.ink, LIGHT.paper)


def test_an_open_chord_has_a_nut_and_a_high_one_its_fret():
    assert frets_shown(OPEN) == (1, 4)
    assert any(float(stroke.get("stroke-width")) > 2 for stroke in drawn(OPEN).iter("line"))
    high = Diagram("Am", "E-shape minor, 12th fret", (Dot(6, 12, 1, True, True), Dot(5, 14, 3, True, False)), ())
    assert any(words.text == "12" for words in drawn(high).iter("text"))


def test_a_capo_is_named_where_the_nut_would_be():
    assert any(words.text == "capo" for words in drawn(replace(OPEN, capo=3)).iter("text"))
    assert not any(words.text == "capo" for words in drawn(OPEN).iter("text"))


def test_one_finger_on_several_strings_is_joined_by_a_bar():
    assert [round(float(bar.get("x2")) - float(bar.get("x1")), 1) for bar in drawn(BARRED).iter("line")
            if bar.get("stroke-width") == f"{BARRE:g}"] == [round(5 * STRING_GAP, 1)]  # fmt: skip


def test_one_finger_used_again_later_is_no_barre():
    assert not any(bar.get("stroke-width") == f"{BARRE:g}" for bar in drawn(replace(BARRED, held=False)).iter("line"))


def test_large_print_is_larger_by_its_scale():
    assert diagram_width(BARRED, 1.5) == pytest.approx(1.5 * diagram_width(BARRED, 1.0))
    assert diagram_height(BARRED, 1.5) == pytest.approx(1.5 * diagram_height(BARRED, 1.0))
    assert drawn(BARRED, 1.5).get("transform") == "scale(1.5)"
