from fractions import Fraction

import pytest

from transcribe.rhythm.bars import pickup_length
from transcribe.rhythm.rhythm import Meter


@pytest.mark.parametrize(
    ("first", "length"), [("0", "0"), ("2", "0"), ("-1/2", "1/2"), ("-3/4", "3/4"), ("-1/3", "1"), ("-4/3", "2")]
)
def test_a_pickup_bar_holds_the_first_note_and_whole_triplets(first, length):
    assert pickup_length(Fraction(first), Meter(4, 4)) == Fraction(length)
