"""A shape in a player's words: the nut of an open chord, moved to a fret."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fingering.fretboard import Fretboard, tuning_from_text
from transcribe.document.model import TakeDocument
from transcribe.errors import SettingsError
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key
from transcribe.shape_words import limits_from_shape

EMPTY = TakeDocument(())
NECK = Fretboard()


def frets(words: str, document: TakeDocument = EMPTY, neck: Fretboard = NECK, pitches: tuple[int, ...] = ()):
    return limits_from_shape(words, document, neck, pitches).frets


@pytest.mark.parametrize(
    ("words", "barre"),
    [
        ("E of A", 5), ("A of C", 3), ("G of C", 5), ("E of C", 8), ("D of C", 10), ("C of C", 0),  # C: 0 3 5 8 10
        ("e-shape of Am7", 5), ("E shape of F#m", 2), ("A of Bb", 1),
        ("E at 5", 5), ("E-shape, 5th fret", 5), ("A 12", 12), ("D-shape at 0", 0),
    ],
)  # fmt: skip
def test_frets_run_from_one_behind_the_barre_to_four_above(words: str, barre: int) -> None:
    """The five shapes of C lie at the nut, 3, 5, 8 and 10 (common practice)."""
    assert frets(words) == (max(0, barre - 1), barre + 4)


def test_the_chord_is_the_vamp_the_only_chord_or_the_key() -> None:
    def chord(symbol: str) -> ChordSpan:
        return ChordSpan(Fraction(0), Fraction(4), symbol)

    key = Key("C", "major")
    assert frets("E", TakeDocument((), vamp="G7", key=key)) == (2, 7)
    assert frets("E", TakeDocument((), chords=(chord("A7"), chord("A")), key=key)) == (4, 9)
    assert frets("E", TakeDocument((), chords=(chord("A7"), chord("D7")), key=key)) == (7, 12)
    with pytest.raises(SettingsError, match="several chords and no key"):
        frets("E", TakeDocument((), chords=(chord("A7"), chord("D7"))))
    with pytest.raises(SettingsError, match="names no chord and no key") as refused:
        frets("E")
    assert "'E of A'" in refused.value.mend


def test_the_octave_is_the_one_where_the_notes_are() -> None:
    assert frets("C of C", pitches=(76, 79, 80)) == (11, 16), "above the first frets of the highest string"
    assert frets("C of C", pitches=(48, 52, 55)) == (0, 4)


def test_a_capo_is_the_new_nut_and_a_guitar_tuned_down_is_reckoned_with() -> None:
    assert frets("E of A", neck=Fretboard(capo=2)) == (2, 7)
    assert frets("E at 3", neck=Fretboard(capo=2)) == (2, 7)
    half_down = Fretboard(tuning_from_text("half a step down"))
    assert frets("E of A", neck=half_down) == (5, 10)
    assert frets("E at 5", neck=half_down) == (4, 9)
    with pytest.raises(SettingsError, match="standard tuning"):
        frets("E of A", neck=Fretboard(tuning_from_text("open G")))


@pytest.mark.parametrize("words", ["", "H", "E of", "E/A", "E at five", "of A", "E of H"])
def test_words_that_name_no_shape(words: str) -> None:
    with pytest.raises(SettingsError, match="no such shape") as refused:
        frets(words)
    assert "C, A, G, E and D" in refused.value.mend
