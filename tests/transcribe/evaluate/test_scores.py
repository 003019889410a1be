"""Counts, shares and spreads: arithmetic a reader can redo."""

import pytest

from transcribe.errors import ValueRuleError
from transcribe.evaluate.scores import Found, Share, Spread


def test_f_is_the_harmonic_mean_of_precision_and_recall():
    found = Found(right=6, wanted=8, written=10)
    assert (found.recall, found.precision) == (0.75, 0.6)
    assert found.f == pytest.approx(2 * 0.75 * 0.6 / (0.75 + 0.6))


def test_nothing_wanted_and_nothing_written_has_no_score():
    assert Found(0, 0, 0).f is Found(0, 0, 0).recall is Found(0, 0, 0).precision is None
    assert Share(0, 0).share is None
    assert Spread(()).part(0.5) is None


def test_something_invented_where_nothing_was_scores_nought():
    assert Found(0, 0, 3).f == 0.0


def test_no_more_can_be_right_than_were_written():
    with pytest.raises(ValueRuleError, match="no more can be right"):
        Found(right=2, wanted=3, written=1)


def test_takes_add_up():
    assert Found(1, 2, 3) + Found(1, 1, 1) == Found(2, 3, 4)
    assert Share(1, 2) + Share(2, 2) == Share(3, 4)
    assert (Spread((1.0,)) + Spread((3.0,))).part(0.5) == 2.0


def test_nine_in_ten_of_eleven_errors_stay_below_the_tenth():
    assert Spread(tuple(float(size) for size in range(11))).part(0.9) == pytest.approx(9.0)
