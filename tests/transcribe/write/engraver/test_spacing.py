"""Springs and rods, and lines broken between bars."""

from __future__ import annotations

from fractions import Fraction

import pytest

from transcribe.write.engraver.breaking import break_lines
from transcribe.write.engraver.spacing import BarSpace, Reach, bar_space, force_for, natural_gap


def test_a_doubled_value_gets_about_half_as_much_room_again() -> None:
    for value in (Fraction(1, 2), Fraction(1), Fraction(2)):
        assert 1.4 <= natural_gap(2 * value) / natural_gap(value) <= 1.6  # common practice


def test_things_never_come_nearer_than_they_reach() -> None:
    reaches = [Reach("a", 1, 5.0, 60.0), Reach("a", 3, 30.0, 5.0)]
    space = bar_space([Fraction(1, 4)] * 4, reaches, {"a": 3.0})
    assert space.rods[1] + space.rods[2] == pytest.approx(93.0)


def test_bars_stretch_to_the_width_asked_for() -> None:
    bars = [bar_space([Fraction(1)] * 4, [], {}) for _ in range(3)]
    force = force_for(bars, 900.0)
    assert sum(sum(bar.gaps(force)) for bar in bars) == pytest.approx(900.0, abs=0.1)


def test_equal_bars_share_lines_evenly_and_none_is_left_alone() -> None:
    bars = [BarSpace((200.0,), (150.0,))] * 9
    lines = break_lines(bars, 830.0, 830.0)
    assert lines[0][0] == 0
    assert lines[-1][1] == 9
    assert all(end - start > 1 for start, end in lines)


def test_a_bar_too_wide_for_any_line_stands_by_itself() -> None:
    bars = [BarSpace((100.0,), (100.0,)), BarSpace((900.0,), (900.0,)), BarSpace((100.0,), (100.0,))]
    assert break_lines(bars, 500.0, 500.0) == ((0, 1), (1, 2), (2, 3))
