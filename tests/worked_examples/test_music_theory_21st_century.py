"""R. Hutchinson, "Music Theory for the 21st-Century Classroom" (University of Puget Sound, GFDL).

Pages read: "Practice Exercises" 7.5 (Roman numerals) and 16.6 (figured bass) with their answers, and 17.3 "Secondary
Dominants in Major and Minor". The book writes a major seventh as M and an inversion in words in chapter 7; here both
are written as this tool writes them. Keys follow from the numerals that the answers give.
"""

import pytest

from transcribe.harmony.cadences import full_cadence
from transcribe.harmony.chord import chord_from_text
from transcribe.harmony.key import key_from_text
from transcribe.harmony.roles import figured_role, role


@pytest.mark.parametrize(
    ("key", "symbol", "figures"),
    [
        ("C", "C/G", "I64"),  # 16.6, exercise 1
        ("C", "B°/D", "vii°6"),
        ("C", "Dm/A", "ii64"),
        ("C", "G", "V"),
        ("C", "Em7/G", "iii65"),  # exercise 2
        ("C", "G7/F", "V42"),
        ("C minor", "D°/F", "ii°6"),  # exercise 3
        ("B minor", "A#°7/G", "vii°42"),
        ("F", "Eø7", "viiø7"),
        ("E", "F#m", "ii"),  # 7.5, exercise 1
        ("E", "D#°/F#", "vii°6"),
        ("B minor", "A", "VII"),
        ("A", "Bm/F#", "ii64"),
    ],
)
def test_chord_symbols_and_their_numerals(key, symbol, figures):
    assert figured_role(chord_from_text(symbol), key_from_text(key)) == figures


@pytest.mark.parametrize(
    ("key", "progression", "numerals", "name"),
    [
        ("G", "G D G C G D", "I V I IV I V", "half"),  # 7.5, "Columbia, the Gem of the Ocean"
        ("D", "D Bm G D", "I vi IV I", "plagal"),  # 7.5, the song after it
    ],
)
def test_progressions_and_how_they_close(key, progression, numerals, name):
    home, chords = key_from_text(key), [chord_from_text(symbol) for symbol in progression.split()]
    assert [role(chord, home) for chord in chords] == numerals.split()
    assert full_cadence(*chords[-2:], home, melody=chords[-1].pitch_classes[0]) == name


@pytest.mark.parametrize(
    ("symbol", "following", "numeral"),
    [
        ("F", "Bb", "V/VII"),  # 17.3: F major in C minor leads to VII ...
        ("F", "G", "IV"),  # ... or is the major IV before the dominant
        ("F", "Bdim", "IV"),
    ],
)
def test_a_major_four_in_minor_is_named_by_where_it_goes(symbol, following, numeral):
    c_minor = key_from_text("C minor")
    assert role(chord_from_text(symbol), c_minor, chord_from_text(following)) == numeral


def test_either_name_of_the_seventh_chord_on_the_lowered_seventh_is_right():
    assert role(chord_from_text("Bb7"), key_from_text("C minor"), chord_from_text("Eb")) in ("V7/III", "VII7")


@pytest.mark.parametrize(
    ("key", "pitches", "numeral"),
    [("D", "B", "V/ii"), ("Eb", "G7/B", "V65/vi"), ("D minor", "E/B", "V64/V")],
)
def test_secondary_dominants_of_a_lesson_page(key, pitches, numeral):
    """Georgetown College, MUS 112, "Determining Secondary Dominant Chords": B D# F#; B G F D; B E G#."""
    assert figured_role(chord_from_text(pitches), key_from_text(key)) == numeral


def test_the_first_inversion_of_a_lesson_page():
    """Indiana University, T109, "Roman numerals and figured bass": E flat below E flat, G, C in B flat major."""
    assert figured_role(chord_from_text("Cm/Eb"), key_from_text("Bb")) == "ii6"
