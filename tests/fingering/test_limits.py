import pytest

from fingering import FingeringError, Fretboard, LimitError, Limits, LockError, limits_for_shape, solve
from tests.fingering_music import chord, line


def limited(passage, limits, **options):
    return solve(passage, limits=dict.fromkeys((p.id for p in passage.plucks), limits), **options)


def test_strings_frets_and_positions_bound_a_span():
    passage = line(64, 67, 69, 67, 64)
    low = limited(passage, Limits(strings=frozenset({4, 5, 6})))
    assert {place.string for place in low.placements} <= {4, 5, 6}
    window = limited(passage, Limits(frets=(9, 14)))
    assert all(9 <= place.fret <= 14 for place in window.placements)
    stated = limited(passage, Limits(positions=(7, 7)))
    assert set(stated.positions.values()) == {7}


def test_a_note_outside_its_limits_is_played_anyway_with_a_doubt():
    fingering = limited(line(40), Limits(strings=frozenset({1, 2})))
    assert [(place.string, place.fret) for place in fingering.placements] == [(6, 0)]
    assert "strings and frets asked for" in fingering.doubts[0].why


def test_a_position_that_cannot_reach_says_so():
    fingering = limited(chord(41, 48), Limits(positions=(12, 12)))
    assert any("position asked for" in doubt.why for doubt in fingering.doubts)


def test_a_shape_keeps_a_line_in_its_part_of_the_neck():
    passage = line(57, 60, 62, 64)
    around_e = limited(passage, limits_for_shape("E", 9))
    assert all(4 <= place.fret <= 9 for place in around_e.placements)
    around_a = limited(passage, limits_for_shape("A", 9, octave=1))
    assert all(11 <= place.fret <= 16 for place in around_a.placements)


def test_a_shape_beyond_the_neck_is_refused():
    with pytest.raises(FingeringError, match="does not fit a neck of 12 frets"):
        limits_for_shape("G", 6, Fretboard(frets=12))


def test_a_limit_never_lowers_the_cost():
    passage = line(64, 67, 69, 72)
    assert limited(passage, Limits(frets=(12, 17))).cost >= solve(passage).cost


def test_a_lock_outside_the_limit_names_both():
    with pytest.raises(LockError, match="note n0: the lock to string 1 fret 0 contradicts the strings and frets"):
        limited(line(64, locked_string=1), Limits(frets=(5, 9)))


def test_a_shape_letter_and_a_root_are_enough_wherever_the_passage_lies():
    around = limits_for_shape("e", 9)
    for octave in (0, 12):
        passage = line(*(midi + octave for midi in (57, 60, 62, 64)))
        places = limited(passage, around).placements
        assert all(4 <= place.fret <= 9 or 16 <= place.fret <= 21 for place in places)
        assert max(place.fret for place in places) - min(place.fret for place in places) <= 5


def test_a_shape_is_found_with_a_capo_and_on_a_guitar_tuned_down():
    assert limits_for_shape("E", 9, Fretboard(capo=2), octave=0).frets == (2, 7)
    down = Fretboard(open_midi=(63, 58, 54, 49, 44, 39))
    assert limits_for_shape("E", 9, down, octave=0).frets == (5, 10)
    assert limits_for_shape("C", 0, octave=0).frets == (0, 4)


def test_a_limit_with_nothing_in_it_is_refused():
    with pytest.raises(LimitError, match="frets asked for run from 9 down to 2"):
        Limits(frets=(9, 2))
