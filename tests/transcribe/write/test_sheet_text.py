"""Words measured, broken and drawn; signs that a face lacks come from one that has them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.write.fonts import SANS, SERIF, SERIF_BOLD, SERIF_ITALIC
from transcribe.write.sheet_text import drawable, line, missing_signs, pretty, runs, shortened, width_of, wrapped


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("Bb7", "B♭7"),
        ("F#m7", "F♯m7"),
        ("Ebmaj7", "E♭maj7"),
        ("Bbm", "B♭m"),
        ("the b7 and #4", "the ♭7 and ♯4"),
        ("bIII", "♭III"),
        ("C/Bb", "C/B♭"),
        ("key of Bb, not F#.", "key of B♭, not F♯."),
        ("E7#9", "E7♯9"),
        ("Abandoned boat, Bbq, Ebb tide", "Abandoned boat, Bbq, Ebb tide"),
        ("track #2 of B side b", "track ♯2 of B side b"),
    ],
)
def test_accidentals_are_printed_as_signs(typed, printed):
    assert pretty(typed) == printed


@given(st.text(max_size=60), st.floats(40, 300))
def test_no_line_is_wider_than_its_room_and_nothing_is_lost(words, room):
    lines = wrapped(words, 10.0, room)
    assert all(width_of(text, 10.0) <= room or len(text) == 1 for text in lines)
    assert "".join(lines).replace(" ", "") == drawable(words).replace(" ", "")


def test_a_word_wider_than_the_room_is_broken_between_letters():
    lines = wrapped("harbourharbourharbour", 10.0, 40.0)
    assert len(lines) > 1
    assert "".join(lines) == "harbourharbourharbour"


def test_words_that_do_not_fit_end_in_dots():
    short = shortened("a title that goes on and on", 10.0, 60.0)
    assert short.endswith("…")
    assert width_of(short, 10.0) <= 60.0
    assert shortened("lamp", 10.0, 60.0) == "lamp"


def test_a_flat_in_italics_comes_from_a_face_that_has_one():
    assert [face for face, _ in runs("A♭", SERIF_ITALIC)] == [SERIF_ITALIC, SERIF]
    assert [face for face, _ in runs("F♯ m", SERIF_BOLD)] == [SERIF_BOLD, SERIF, SERIF_BOLD]
    assert [face for face, _ in runs("Ⴀ", SERIF)] == [SANS]
    assert runs("a שלום עולם b", SERIF) == ((SERIF, "a "), (SANS, "שלום עולם"), (SERIF, " b"))
    assert [part for _, part in runs("Привет", SERIF)] == ["Привет"]


def test_a_line_asks_for_its_face_and_escapes_its_words():
    drawn = line("<A♭ & B>", 1, 2, size=10, fill="#000000", face=SERIF_ITALIC)
    assert "&lt;A" in drawn
    assert " &amp; B&gt;" in drawn
    assert '<tspan font-family="STIXGeneral" font-weight="normal" font-style="normal">♭</tspan>' in drawn


def test_signs_no_face_has_are_named_once():
    assert missing_signs(["灯 Lamp 灯", "夜"]) == "灯夜"
    assert missing_signs(["Μελωδία · Ночь · café ♭♯♮ ½"]) == ""
