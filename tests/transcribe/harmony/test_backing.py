from fractions import Fraction

import pytest

from transcribe.errors import SettingsError
from transcribe.harmony.backing import backing_at, bars_from_text, home_key, spans_from_bars
from transcribe.harmony.chord import Chord, chord_from_text


def places(spans):
    return [(str(span), span.start_beat, span.end_beat) for span in spans]


def test_bars_and_chords_that_share_a_bar():
    bars = bars_from_text("| G | C D7/F# |")
    assert places(spans_from_bars(bars, Fraction(4), Fraction(8))) == [("G", 0, 4), ("C", 4, 6), ("D7/F#", 6, 8)]


def test_bars_come_again_until_the_end_and_a_chord_that_stays_is_one():
    bars = bars_from_text("Am | % | G")
    assert places(spans_from_bars(bars, Fraction(3), Fraction(12))) == [("Am", 0, 6), ("G", 6, 9), ("Am", 9, 12)]


@pytest.mark.parametrize("text", ["G || C", "", "G | what", "| |"])
def test_what_are_no_bars_is_refused_with_how_to_write_them(text):
    with pytest.raises(SettingsError):
        bars_from_text(text)


def test_chords_told_come_before_the_vamp():
    spans = spans_from_bars((("C",),), Fraction(4), Fraction(4))
    vamp = Chord("G")
    assert backing_at(Fraction(1), spans, vamp) == Chord("C")
    assert backing_at(Fraction(5), spans, vamp) == vamp
    assert backing_at(Fraction(-1), spans, None) is None


@pytest.mark.parametrize(
    ("vamp", "key"), [("A7", "A major"), ("Em7", "E minor"), ("Bb", "Bb major"), ("Cm", "C minor")]
)
def test_a_vamp_is_at_home(vamp, key):
    found = home_key(chord_from_text(vamp))
    assert f"{found.tonic} {found.mode}" == key
