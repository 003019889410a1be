"""Bends, slides and vibrato that count as the same."""

import pytest

from transcribe.evaluate.gestures import is_curl, match_bends, same_slide, same_vibrato
from transcribe.notes.note import Bend, Slide, Vibrato


def bend(target_cents, reached_cents=None, kind="bend", start_s=1.0):
    reached_cents = target_cents if reached_cents is None else reached_cents
    return Bend(kind, start_s, start_s + 0.1, start_s + 0.5, target_cents, reached_cents)


def test_a_bend_that_stops_short_is_still_the_bend_to_that_goal():
    assert match_bends((bend(200, 170),), (bend(200, 172),)) == [(0, 0)]


def test_another_goal_or_kind_is_another_bend():
    assert match_bends((bend(200),), (bend(100),)) == []
    assert match_bends((bend(200),), (bend(200, kind="pre-bend"),)) == []


def test_a_curl_is_no_half_step_and_no_silence():
    assert is_curl(bend(50))
    assert not is_curl(bend(100))
    assert match_bends((bend(50),), (bend(100),)) == []  # 50 cents apart: a wider window would call them one
    assert match_bends((bend(100),), (bend(60),)) == []
    assert match_bends((bend(50, 45),), (bend(50, 60),)) == [(0, 0)]
    assert match_bends((bend(50, 45),), (bend(50, 70),)) == []


def test_each_movement_of_a_bend_pushed_twice_answers_once():
    twice = (bend(200), bend(0, kind="release", start_s=2.0), bend(200, start_s=3.0))
    assert match_bends(twice, twice[:2]) == [(0, 0), (1, 1)]
    assert len(match_bends(twice, twice)) == 3
    assert match_bends((), twice) == match_bends(twice, ()) == []


@pytest.mark.parametrize(
    ("found", "same"),
    [
        (Slide("legato", 200.0, "n9"), True),
        (Slide("legato", 260.0, "n9"), False),
        (Slide("shift", 200.0, "n9"), False),
        (Slide("in", 200.0), False),
    ],
)
def test_a_slide_between_notes_has_its_kind_and_distance(found, same):
    assert same_slide(Slide("legato", 200.0, "n2"), found) == same


def test_a_slide_out_needs_its_direction_only():
    assert same_slide(Slide("out", -400.0), Slide("out", -150.0))
    assert not same_slide(Slide("out", -400.0), Slide("out", 150.0))


def test_vibrato_is_the_same_within_a_quarter_of_its_rate():
    assert same_vibrato(Vibrato(5.0, 30), Vibrato(6.25, 10))
    assert not same_vibrato(Vibrato(5.0, 30), Vibrato(6.3, 30))
