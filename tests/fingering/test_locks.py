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
    with pytest.raises(LockError, match=r"a \(string 2\) and b \(string 2\)"):
        solve(Passage(plucks))


def test_two_notes_that_clash_are_named_wherever_they_stand():
    before = tuple(Pluck(f"n{i}", i * 0.5, i * 0.5 + 0.5, 60) for i in range(3))
    crossed = (
        Pluck("high", 2, 3, 69, locked_string=1, locked_fret=5, locked_finger=4),
        Pluck("free", 2, 3, 60),
        Pluck("low", 2, 3, 52, locked_string=5, locked_fret=7, locked_finger=1),
    )
    with pytest.raises(LockError, match=r"high \(string 1 fret 5 finger 4\) and low \(string 5 fret 7 finger 1\)"):
        solve(Passage((*before, *crossed)))


def test_a_bend_locked_where_it_drags_the_other_locked_string():
    plucks = (
        Pluck("held", 0, 1, 64, locked_string=2, locked_fret=5),
        Pluck("other", 0, 1, 55, locked_string=4, locked_fret=5),
        Pluck("bent", 0, 1, 62, bend_semitones=3.0, locked_string=3, locked_fret=7),
    )
    with pytest.raises(LockError, match=r"other \(string 4 fret 5\) and bent \(string 3 fret 7\)\nThe bend"):
        solve(Passage(plucks))


def test_finger_0_where_no_place_is_open_says_what_is_fixed_and_what_is_not():
    with pytest.raises(LockError, match="finger 0 contradicts the pitch of the note: it lies on string 2 fret 1,"):
        solve(line(60, locked_finger=0))
    with pytest.raises(LockError, match="finger 0 contradicts the lock to string 3: there it is fret 5"):
        solve(line(60, locked_finger=0, locked_string=3))
    with pytest.raises(LockError, match="finger 0 contradicts the lock to fret 5"):
        solve(line(60, locked_finger=0, locked_fret=5))


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
