import pytest

from fingering import LockError, Passage, Pluck, solve
from tests.fingering_music import line


def test_a_lock_against_the_pitch_names_both_and_where_the_pitch_lies():
    with pytest.raises(LockError, match="note n0: the lock to string 1 fret 3 contradicts the pitch") as caught:
        solve(line(60, locked_string=1, locked_fret=3))
    assert "string 2 fret 1" in caught.value.mend


def test_a_string_that_is_not_there():
    with pytest.raises(LockError, match="string 7 of a guitar with 6"):
        solve(line(60, locked_string=7))


def test_two_notes_locked_to_one_string_at_once():
    plucks = (Pluck("a", 0, 1, 67, locked_string=2), Pluck("b", 0, 1, 62, locked_string=2))
    with pytest.raises(LockError, match="MIDI 67 on string 2 and MIDI 62 on string 2"):
        solve(Passage(plucks))


def test_a_slide_locked_to_two_strings_names_both_notes():
    plucks = (
        Pluck("a", 0, 1, 60, locked_string=2),
        Pluck("b", 1, 2, 62, join="slide", joined_to="a", locked_string=3),
    )
    with pytest.raises(LockError, match="notes a and b are joined by a slide"):
        solve(Passage(plucks))


def test_a_finger_on_an_open_string():
    with pytest.raises(LockError, match="finger 2 contradicts"):
        solve(line(64, locked_string=1, locked_finger=2))


def test_a_lock_no_hand_would_choose_is_honoured_with_a_doubt():
    plucks = (Pluck("a", 0, 1, 65, locked_string=1), Pluck("b", 0, 1, 64, locked_string=2))
    plucks = (*plucks, Pluck("c", 0, 1, 67, locked_string=3))
    fingering = solve(Passage(tuple(sorted(plucks, key=lambda p: -p.midi))))
    assert {p.id: p.string for p in fingering.placements} == {"a": 1, "b": 2, "c": 3}
    assert fingering.doubts
