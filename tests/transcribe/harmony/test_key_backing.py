from fractions import Fraction

import pytest

from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key_backing import COLUMNS, backing_hints


def spans(symbols):
    return [ChordSpan(Fraction(4 * k), Fraction(4 * k + 4), symbol) for k, symbol in enumerate(symbols.split())]


def columns(symbols, key):
    return dict(zip(COLUMNS, backing_hints(spans(symbols))[key].tolist(), strict=True))


def test_a_progression_that_starts_and_ends_at_home():
    assert columns("F Bb C7 F", 5) == {
        "time at home": 0.5, "first": 1, "last": 1, "led home": 1, "within the scale": 1,
    }  # fmt: skip
    assert columns("F Bb C7 F", 0)["within the scale"] == 0.75  # F Bb D is outside C


def test_a_third_tells_the_mode_and_a_power_chord_neither():
    assert (columns("Am E7", 12 + 9)["first"], columns("Am E7", 9)["first"]) == (1, 0)
    assert (columns("A5 E5", 12 + 9)["first"], columns("A5 E5", 9)["first"]) == (1, 1)


@pytest.mark.parametrize(("symbols", "key"), [("A7 D7 E7", 9), ("E7 A7 B7", 4)])
def test_a_blues_keeps_to_its_key(symbols, key):
    assert columns(symbols, key)["within the scale"] == 1
    assert columns(symbols, key)["led home"] == 1  # the last leads back to the first


def test_nothing_told_says_nothing():
    assert not backing_hints([]).any()
