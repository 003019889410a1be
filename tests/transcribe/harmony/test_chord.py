import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.errors import SettingsError
from transcribe.harmony.chord import KINDS, Chord, chord_from_text, chord_or_none

chords = st.builds(
    Chord, st.sampled_from(["C", "F#", "Bb", "Eb", "A", "D", "G", "E", "B", "Ab"]), st.sampled_from(sorted(KINDS))
)


@pytest.mark.parametrize(
    ("text", "symbol", "tones"),
    [
        ("G", "G", (7, 11, 2)),
        ("Am", "Am", (9, 0, 4)),
        ("D7", "D7", (2, 6, 9, 0)),
        ("Cmaj7", "Cmaj7", (0, 4, 7, 11)),
        ("F#ø7", "F#m7b5", (6, 9, 0, 4)),
        ("B°7", "Bdim7", (11, 2, 5, 8)),
        ("E5", "E5", (4, 11)),
        ("Asus4", "Asus4", (9, 2, 4)),
        ("B♭maj7", "Bbmaj7", (10, 2, 5, 9)),
    ],
)
def test_a_symbol_tells_its_tones(text, symbol, tones):
    chord = chord_from_text(text)
    assert chord.symbol == symbol
    assert chord.pitch_classes == tones


@pytest.mark.parametrize(
    ("text", "inversion"), [("G", 0), ("G/G", 0), ("G/B", 1), ("G/D", 2), ("G7/F", 3), ("G/A", -1)]
)
def test_the_bass_tells_the_inversion(text, inversion):
    assert chord_from_text(text).inversion == inversion


@pytest.mark.parametrize("text", ["", "H7", "Gwhat", "7", "G/H"])
def test_what_is_no_chord_is_refused_with_how_to_write_one(text):
    with pytest.raises(SettingsError, match="no chord"):
        chord_from_text(text)
    assert chord_or_none(text) is None


@given(chords)
def test_a_symbol_comes_back(chord):
    assert chord_from_text(str(chord)) == chord


@given(chords, st.integers(-6, 6))
def test_moving_a_chord_moves_each_tone_alike(chord, fifths):
    moved = chord.transposed(fifths)
    assert moved.pitch_classes == tuple((tone + 7 * fifths) % 12 for tone in chord.pitch_classes)


def test_a_tone_has_the_name_that_its_chord_gives_it():
    assert chord_from_text("F#").name_of(70) == "A#"
    assert chord_from_text("Gm").name_of(70) == "Bb"
    assert chord_from_text("G").name_of(70) is None
