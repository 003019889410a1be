"""Push and force of string bends against the elastic string.

The model is the one D. R. Grimes validates in "String theory: the physics of string-bending and other electric guitar
techniques", PLoS ONE 9(7): e102088 (2014). The figures below were worked out apart from this code for a scale of 648
mm and a .010-.046 set, E = 200 GPa (core diameters of the wound strings from memory, so those rows are rough).
"""

import pytest

from fingering.bending import can_bend, most_semitones, push_for, strings_swept
from fingering.fretboard import Fretboard


@pytest.mark.parametrize(
    ("string", "fret", "push_mm_and_n"),
    [
        (1, 2, [(8.5, 11), (12.3, 18), (15.6, 25), (18.6, 33)]),
        (1, 12, [(13.6, 7), (19.9, 11), (25.1, 16), (30.0, 21)]),
        (2, 5, [(8.8, 6), (12.8, 9), (16.2, 13), (19.3, 17)]),
        (3, 7, [(7.6, 4), (11.1, 7), (14.0, 10), (16.7, 14)]),
        (4, 2, [(6.9, 10), (10.1, 16), (12.8, 23), (15.2, 31)]),
        (6, 15, [(7.7, 4), (11.3, 7), (14.2, 10), (17.0, 13)]),
    ],
)
def test_push_and_force_for_one_to_four_semitones(string, fret, push_mm_and_n):
    for semitones, (push_mm, force_n) in enumerate(push_mm_and_n, start=1):
        pushed_mm, pushed_n = push_for(string, fret, float(semitones))
        assert pushed_mm == pytest.approx(push_mm, abs=0.3)
        assert pushed_n == pytest.approx(force_n, abs=0.7)


def test_the_same_bend_is_harder_near_the_nut():
    assert push_for(1, 2, 2.0)[1] > 1.5 * push_for(1, 12, 2.0)[1]


def test_where_bends_of_which_size_are_usual():
    # common practice
    assert most_semitones(2, 8) >= 3
    assert most_semitones(4, 8) == 2
    assert most_semitones(3, 2) == 2
    assert most_semitones(5, 2) == 1
    assert most_semitones(1, 0) == 0
    neck = Fretboard()
    assert can_bend(neck, 2, 8, 3, 2.0)
    assert not can_bend(neck, 2, 8, 1, 2.0)
    assert can_bend(neck, 2, 8, 1, 0.5)
    assert not can_bend(neck, 6, 0, 1, 1.0)


def test_treble_strings_are_pushed_up_and_bass_strings_pulled_down():
    assert strings_swept(1, 6, 15.0, 8.5) == ((2, 3),)
    assert strings_swept(3, 6, 8.0, 8.5) == ((4,),)
    assert strings_swept(6, 6, 10.0, 8.5) == ((5,),)
    assert strings_swept(4, 6, 8.0, 8.5) == ((5,), (3,))
