from fractions import Fraction

import pytest

from transcribe.errors import RhythmError, SettingsError
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing, meter_from_text


@pytest.mark.parametrize(("text", "quarters"), [("4/4", 4), ("3/4", 3), ("6/8", 3), ("12/8", 6), ("2/2", 4)])
def test_a_bar_lasts_as_many_quarters_as_its_meter_says(text, quarters):
    assert meter_from_text(text).bar_beats == quarters
    assert str(meter_from_text(text)) == text


@pytest.mark.parametrize("text", ["", "4", "4/5", "0/4", "4/4/4", "four/four"])
def test_no_such_meter(text):
    with pytest.raises(SettingsError, match="no such meter"):
        meter_from_text(text)


def test_a_quarter_at_120_bpm_lasts_half_a_second():
    assert Rhythm(120.0, Meter(4, 4), 0.0).beat_s == 0.5


def test_a_pickup_is_shorter_than_a_bar():
    with pytest.raises(RhythmError, match="shorter than a bar"):
        Rhythm(100.0, Meter(3, 4), 0.0, pickup_beats=Fraction(3))


def test_a_tempo_is_above_zero():
    with pytest.raises(RhythmError, match="above 0 bpm"):
        Rhythm(0.0, Meter(4, 4), 0.0)


@pytest.mark.parametrize(("bar", "beat", "value"), [(-1, 0, 1), (1, -1, 1), (1, 0, 0)])
def test_a_written_note_has_a_place_and_a_length(bar, beat, value):
    with pytest.raises(RhythmError, match="at or above 0"):
        Timing(bar, Fraction(beat), Fraction(value))
