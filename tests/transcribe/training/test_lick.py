"""A written lick refuses what no hand could do, and knows its pitches."""

from fractions import Fraction

import pytest

from transcribe.errors import NoteError, RhythmError
from transcribe.training.lick import Lick, Push, push, pushed_before, rest, step


def test_the_fretted_pitch_counts_from_the_capo():
    lick = Lick("one", (step("1", 5, 3, 3),), 90.0, capo=4)
    assert lick.midi(lick.steps[0]) == 45 + 4 + 3


def test_length_is_exact():
    third = Fraction(1, 3)
    assert Lick("one", (step("1/3", 1, 5, 1), step("1/3", 1, 8, 4), rest("1/3")), 90.0).beats == 3 * third


@pytest.mark.parametrize("attack", ["hammer-on", "pull-off", "slide"])
def test_legato_stays_on_its_string(attack):
    with pytest.raises(NoteError, match="own string"):
        Lick("one", (step("1", 2, 5, 1), step("1", 1, 8, 3, attack=attack)), 90.0)


def test_a_slide_stays_on_its_string():
    with pytest.raises(NoteError, match="own string"):
        Lick("one", (step("1", 2, 5, 1, slide="legato"), step("1", 1, 8, 3)), 90.0)


def test_no_finger_holds_an_open_string():
    with pytest.raises(NoteError, match="open string"):
        step("1", 1, 0, 1)
    with pytest.raises(NoteError, match="open string"):
        step("1", 1, 5, 0)


def test_a_slide_in_says_how_far():
    with pytest.raises(NoteError, match="how many frets"):
        step("1", 1, 5, 1, slide="in")


def test_a_pre_bend_is_there_at_once():
    assert pushed_before(200).at == pushed_before(200).over_s == 0
    with pytest.raises(NoteError, match="pre-bend"):
        Push("pre-bend", 200, 0.2, 0.0)


def test_a_pickup_is_shorter_than_a_bar():
    with pytest.raises(RhythmError, match="shorter than a bar"):
        Lick("one", (step("1", 1, 5, 1, pushes=(push(100),)),), 90.0, pickup_beats=Fraction(4))
