import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.harmony.chord import Chord, chord_from_text
from transcribe.harmony.key import key_from_text
from transcribe.harmony.roles import figured_role, role


@pytest.mark.parametrize(
    ("key", "symbols", "numerals"),
    [
        ("C", "C Dm Em F G Am Bdim", "I ii iii IV V vi vii°"),
        ("A minor", "Am Bdim C Dm Em F G", "i ii° III iv v VI VII"),
        ("A minor", "E E7 G#dim7 A D7", "V V7 vii°7 I IV7"),
        ("G", "G7 C7 D7 F Bb", "I7 IV7 V7 bVII bIII"),
        ("C", "D7 E7 A B7 F#dim7", "V7/V V7/vi V/ii V7/iii vii°7/V"),
        ("C", "Cmaj7 Dm7 G7 Bm7b5 Fm Ab Db", "Imaj7 ii7 V7 viiø7 iv bVI bII"),
    ],
)
def test_numerals_of_chords_in_a_key(key, symbols, numerals):
    assert [role(chord_from_text(symbol), key_from_text(key)) for symbol in symbols.split()] == numerals.split()


@pytest.mark.parametrize(
    ("key", "symbol", "numeral"),
    [
        ("G", "D7/F#", "V65"),
        ("G", "D7/C", "V42"),
        ("G", "Am/C", "ii6"),
        ("C", "C/G", "I64"),
        ("C", "D7/F#", "V65/V"),
        ("C", "B°7/D", "vii°65"),
        ("C", "G9", "V9"),
        ("C", "C/D", "I"),
    ],
)
def test_figured_bass_tells_the_inversion(key, symbol, numeral):
    assert figured_role(chord_from_text(symbol), key_from_text(key)) == numeral


@given(
    st.sampled_from(["", "m", "7", "m7", "dim7", "maj7"]),
    st.integers(-5, 6),
    st.sampled_from(["C", "G", "D", "A", "E", "F", "Bb", "Eb"]),
)
def test_moving_key_and_chord_leaves_the_numeral(kind, steps, tonic):
    chord = Chord("C", kind).transposed(steps)
    plain = key_from_text("C")
    moved = key_from_text(tonic)
    assert role(chord.transposed(moved.fifths), moved) == role(chord, plain)


@pytest.mark.parametrize(
    ("key", "symbol", "following", "numeral"),
    [
        ("C", "C7", "F", "V7/IV"),
        ("C", "C7", "F7", "I7"),  # a blues
        ("C", "C7", "G", "I7"),
        ("A minor", "A", "Dm", "V/iv"),
        ("A minor", "A", "E", "I"),
        ("C", "F7", "Bb", "IV7"),
    ],
)
def test_a_seventh_on_the_tonic_leads_to_a_plain_four(key, symbol, following, numeral):
    assert role(chord_from_text(symbol), key_from_text(key), chord_from_text(following)) == numeral


def test_a_power_chord_stands_where_its_triad_would():
    """Small where the scale's own triad is minor (common practice of rock charts)."""
    assert [role(chord_from_text(name), key_from_text("E minor")) for name in ("E5", "G5", "A5")] == ["i", "III", "iv"]
