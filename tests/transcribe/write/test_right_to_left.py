"""Right-to-left words in the order they are drawn; the shapes against the picture engine, which shapes by itself."""

import unicodedata

import pytest
import resvg_py

from transcribe.write.fonts import SANS
from transcribe.write.right_to_left import as_drawn


def test_other_scripts_come_back_unchanged():
    for words in ("Lamp room 2", "Ночь (2)", "", "♭3 – B♭"):
        assert as_drawn(words) == words


@pytest.mark.parametrize(
    ("typed", "drawn"),
    [
        ("שלום", "םולש"),
        ("lick שלום 12", "lick םולש 12"),
        ("שיעור 12 גיטרה", "הרטיג 12 רועיש"),
        ("שיר (א) חדש", "שדח (א) ריש"),
        ("a שלום b עולם c", "a םולש b םלוע c"),
    ],
)
def test_hebrew_runs_backwards_and_numbers_do_not(typed, drawn):
    """The levels of Unicode Annex 9 for a line that runs left to right."""
    assert as_drawn(typed) == drawn


def test_arabic_letters_join():
    """Seen initial, lam-alef final, meem isolated: the Unicode names say so."""
    names = [unicodedata.name(sign) for sign in reversed(as_drawn("سلام"))]
    assert names == [
        "ARABIC LETTER SEEN INITIAL FORM",
        "ARABIC LIGATURE LAM WITH ALEF FINAL FORM",
        "ARABIC LETTER MEEM ISOLATED FORM",
    ]


def picture(words):
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="400" height="60"><text x="10" y="40" font-size="30"'
        f' font-family="DejaVu Sans">{words}</text></svg>'
    )
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, skip_system_fonts=True, font_files=[str(SANS.path)]))


@pytest.mark.parametrize("sign", ["ب", "س", "م"])
def test_a_letter_alone_is_its_isolated_form(sign):
    assert picture(sign) == picture(as_drawn(sign))
    assert unicodedata.name(as_drawn(sign)).endswith("ISOLATED FORM")
