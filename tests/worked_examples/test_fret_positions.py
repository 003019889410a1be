"""Fret distances against the handbook rule and the whole-string checks.

Sources: the 17.817 rule as the Guild of American Luthiers prints it (luth.org, "Why it works"); R. M. Mottola,
"The Rule of 18", American Lutherie 130; equal temperament, d(n) = L (1 - 2^(-n/12)).
"""

import pytest

from fingering import Fretboard


@pytest.mark.parametrize("scale_mm", [628.0, 628.65, 647.7, 648.0, 650.0])
def test_each_fret_takes_one_part_in_17_817_of_what_is_left(scale_mm):
    neck = Fretboard(frets=24, scale_length_mm=scale_mm)
    at_mm = 0.0
    for fret in range(1, 25):
        at_mm += (scale_mm - at_mm) / 17.817
        assert neck.nut_to_fret_mm(fret) == pytest.approx(at_mm, abs=0.02)


def test_the_twelfth_fret_halves_the_string_and_the_24th_leaves_a_quarter():
    neck = Fretboard(frets=24, scale_length_mm=648.0)
    assert neck.nut_to_fret_mm(12) == pytest.approx(324.0)
    assert neck.nut_to_fret_mm(24) == pytest.approx(486.0)


def test_four_frets_at_the_nut_are_as_wide_as_five_at_the_fifth():
    neck = Fretboard(scale_length_mm=648.0)
    assert neck.frets_apart_mm(1, 4) == pytest.approx(97.3, abs=0.05)
    assert neck.frets_apart_mm(5, 9) == pytest.approx(100.1, abs=0.06)


def test_a_capo_moves_the_nut():
    assert Fretboard(capo=12).frets_apart_mm(0, 12) == pytest.approx(162.0)
