"""Doubts as remarks: said once where they come at one place, and once for all bars where they come often."""

from fractions import Fraction

from fingering.cautions import ADVICE
from transcribe.notes.note import Doubt
from transcribe.rhythm.rhythm import Meter
from transcribe.score.places import place_at
from transcribe.score.remarks import caution_remarks, doubt_remarks

# n1 and n2 start bar 1 together; then a note a bar.
BARS = {"n1": 1, "n2": 1, "n3": 2, "n4": 3, "n5": 4, "n6": 7}
PLACES = {name: place_at(bar, Fraction(0), Meter(4, 4), Fraction(0)) for name, bar in BARS.items()}


def told(*doubts):
    return [(remark.where, remark.why) for remark in doubt_remarks(doubts, PLACES)]


def test_a_reason_at_one_place_is_told_once_with_all_its_notes():
    (remark,) = doubt_remarks([Doubt("far apart", "n1"), Doubt("low", "n1"), Doubt("far apart", "n2")], PLACES)
    assert (remark.where, remark.why, remark.notes) == ("bar 1, beat 1", "far apart; low", ("n1", "n2"))


def test_a_reason_that_comes_often_is_told_once_for_all_its_bars():
    often = [Doubt("start unsure", note) for note in ("n1", "n3", "n4", "n6")]
    within = {f"m{k}": place_at(1, Fraction(k), Meter(4, 4), Fraction(0)) for k in range(4)}
    assert told(Doubt("too low", "n3"), *often) == [
        ("bars 1 to 3 and 7", "start unsure"),
        ("bar 2, beat 1", "too low"),
    ]
    assert [where for where, _ in told(*often[:3])] == ["bar 1, beat 1", "bar 2, beat 1", "bar 3, beat 1"]
    near = doubt_remarks([Doubt("low", note) for note in within], within)
    assert [remark.where for remark in near] == [f"bar 1, beat {k}" for k in (1, 2, 3, 4)], "few bars: each place"


def test_measured_figures_of_one_reason_become_a_range():
    late = [
        Doubt(f"played {ms} ms late; its rhythm may differ", f"n{k}") for k, ms in ((1, 64), (3, 136), (4, 40), (5, 70))
    ]
    assert told(*late) == [("bars 1 to 4", "played 40 to 136 ms late; its rhythm may differ")]


def test_the_takes_own_come_first_and_each_once():
    assert told(Doubt("low", "n1"), Doubt("tempo?"), Doubt("tempo?"), Doubt("lost", "n99")) == [
        ("", "tempo?"),
        ("", "lost"),
        ("bar 1, beat 1", "low"),
    ]


def test_cautions_are_told_apart_without_their_advice():
    care = [Doubt(f"take care: more than 8 wide bends within 20 seconds. {ADVICE}", f"n{k}") for k in (1, 3, 5, 6)]
    assert told(*care) == []
    (remark,) = caution_remarks(care, PLACES)
    assert remark.words == "Bars 1, 2, 4 and 7: more than 8 wide bends within 20 seconds."
