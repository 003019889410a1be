"""Doubts and cautions told by bar and beat, as a player counts."""

from dataclasses import replace

from fingering.cautions import ADVICE
from tests.golden.licks import bends, doubted
from transcribe.notes.note import Doubt
from transcribe.score.build import build_score
from transcribe.score.remarks import Remark
from transcribe.write.sheet_places import cautions_of, doubts_of


def test_doubts_come_in_the_order_of_the_music_the_takes_own_first():
    assert [remark.words for remark in doubts_of(build_score(doubted()))] == [
        "The tempo could be double: 216 bpm fits nearly as well.",
        "Bar 2, beat 2: two trackers disagree by an octave.",
        "Bar 3, beat 2: played 70 ms after the place it is written in; its rhythm may differ.",
    ]


def test_a_note_doubted_twice_is_told_once_with_both_reasons():
    document = replace(doubted(), doubts=(Doubt("too short", "n9"), Doubt("too soft", "n9")))
    assert [remark.why for remark in doubts_of(build_score(document))] == ["too short; too soft"]


def test_cautions_are_no_doubts_and_their_advice_is_said_apart():
    told = Doubt(f"take care: a stretch of 92 mm between the outer fingers. {ADVICE}", "n2")
    score = build_score(replace(doubted(), doubts=(told,)))
    assert doubts_of(score) == ()
    (caution,) = cautions_of(score)
    assert caution.why == "a stretch of 92 mm between the outer fingers"
    assert caution.where.startswith("bar 1, beat ")


def test_the_pickup_is_counted_to_the_bar_line():
    """One quarter before bar 1 of 4/4 is beat 4."""
    score = build_score(replace(bends(), doubts=(Doubt("soft", "n1"),)))
    assert doubts_of(score)[0].where == "pickup, beat 4"


def test_a_doubt_about_a_note_that_is_not_written_concerns_the_take():
    score = replace(build_score(doubted()), doubts=(Doubt("lost", "n99"),))
    assert doubts_of(score) == (Remark("", "lost"),)


def test_words_of_the_command_line_are_not_printed_from_drafts_of_earlier_versions():
    score = build_score(replace(doubted(), doubts=(Doubt("the key could also be C major; --key settles it"),)))
    assert [remark.words for remark in doubts_of(score)] == ["The key could also be C major."]
