from fractions import Fraction

import pytest

from tests.rhythm_music import played
from transcribe.rhythm.bars import bar_lines, beat_strength, pickup_length
from transcribe.rhythm.onsets import moments
from transcribe.rhythm.rhythm import Meter
from transcribe.settings import RhythmSettings

FOUR, THREE = Meter(4, 4), Meter(3, 4)


def first_line(written, meter, **more):
    line = played(written, 100, **more)
    return bar_lines(moments(line.notes, RhythmSettings()), line.places, meter)[0][0]


def test_long_notes_mark_the_bars():
    assert first_line("2 1 1 2 1 1 2 1 1 4", FOUR) == 0


def test_a_waltz_begins_on_its_long_notes():
    assert first_line("2 1 2 1 2 1 3", THREE) == 0


def test_a_rising_fourth_before_a_long_note_is_a_pickup():
    assert first_line("1 2 1 2 1 2 1 2", THREE, midis=(62, 67, 67, 71, 69, 67, 66, 67)) == 1


def test_no_pickup_is_longer_than_half_a_bar():
    line = played("1 " * 12, 100)
    heard = moments(line.notes, RhythmSettings())
    assert all(-2 <= line.places[0] - where < 2 for where, _ in bar_lines(heard, line.places, FOUR))


@pytest.mark.parametrize(
    ("offset", "meter", "strength"),
    [
        ("0", FOUR, "downbeat"),
        ("2", FOUR, "middle"),
        ("1", FOUR, "beat"),
        ("1/2", FOUR, "between"),
        ("1", THREE, "beat"),
        ("3/2", Meter(6, 8), "middle"),
        ("1", Meter(6, 8), "between"),
    ],
)
def test_strength(offset, meter, strength):
    assert beat_strength(Fraction(offset), meter) == strength


@pytest.mark.parametrize(
    ("first", "length"), [("0", "0"), ("2", "0"), ("-1/2", "1/2"), ("-3/4", "3/4"), ("-1/3", "1"), ("-4/3", "2")]
)
def test_a_pickup_bar_holds_the_first_note_and_whole_triplets(first, length):
    assert pickup_length(Fraction(first), FOUR) == Fraction(length)
