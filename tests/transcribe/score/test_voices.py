"""When one voice is enough and when two are written, as guitarists write it (common practice)."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.score_music import take, take_note, voice_text
from transcribe.score.build import build_score


def voices(*notes, **more):
    score = build_score(take(*notes, **more))
    return voice_text(score, 0), voice_text(score, 1)


def test_a_line_is_one_voice():
    upper, lower = voices("0 3 7 1", "1 2 5 1", "2 2 8 2")
    assert upper == ["3@0:1 2@1:1 2@2:2"]
    assert lower == [""]


def test_a_double_stop_that_ends_together_is_one_event():
    upper, lower = voices("0 1 5 2", "0 2 5 2", "2 1 8 2")
    assert upper == ["1@0+2@0:2 1@2:2"]
    assert lower == [""]


def test_a_bass_note_held_under_a_melody():
    upper, lower = voices("0 6 3 4", "0 2 0 1", "1 2 1 1", "2 2 3 2")
    assert upper == ["2@0:1 2@1:1 2@2:2"]
    assert lower == ["6@0:4"]


def test_a_held_note_above_a_moving_one_has_the_upper_voice():
    """An oblique bend: the second string rings while the third is bent, let down, and picked again."""
    upper, lower = voices("0 2 8 3", "0 3 7 1", "1 3 7 1", "2 3 5 1", "3 2 8 1")
    assert upper == ["2@0:3 2@3:1"]
    assert lower == ["3@0:1 3@1:1 3@2:1 h:1"]


def test_strings_struck_one_by_one_that_all_ring_are_one_voice():
    upper, lower = voices("0 4 9 4", "1 3 11 3", "2 2 8 2", "3 1 10 1")
    assert upper == ["4@0:1 3@1:1 2@2:1 1@3:1"]
    assert lower == [""]


def test_double_stops_with_different_ends():
    upper, lower = voices("0 1 5 1", "0 2 5 2", "2 1 5 2")
    assert upper == ["1@0:1 r:1 1@2:2"]
    assert lower == ["2@0:2 h:2"]


def test_only_bars_where_something_rings_have_two_voices():
    upper, lower = voices("0 3 5 4", "4 5 3 4", "4 2 1 2", "6 2 3 2", "8 3 5 4")
    assert upper == ["3@0:4", "2@4:2 2@6:2", "3@8:4"]
    assert lower == ["", "5@4:4", ""]


def test_a_ringing_note_is_tied_over_the_bar_line_in_its_own_voice():
    upper, lower = voices("2 5 3 4", "2 2 1 1", "3 2 3 1", "4 2 5 2", "6 2 6 2")
    assert upper == ["r:2 2@2:1 2@3:1", "2@4:2 2@6:2"]
    assert lower == ["h:2 5@2:2~", "5@2:2 h:2"]


def test_alternating_bass_and_melody_share_out_by_pitch():
    upper, lower = voices("0 5 3 2", "2 4 2 2", "1 2 1 2", "3 2 3 1", "0 1 0 1")
    assert upper == ["1@0:1 2@1:2 2@3:1"]
    assert lower == ["5@0:2 4@2:2"]


def test_an_arpeggio_left_to_ring_is_one_voice_under_a_mark():
    notes = [
        take_note(f"{at} {string} {fret} {4 - float(at):g}", let_ring=True)
        for at, string, fret in (("0", 4, 10), ("1", 3, 9), ("2", 2, 8), ("3", 1, 8))
    ]
    score = build_score(take(*notes))
    assert voice_text(score, 0) == ["4@0:1 3@1:1 2@2:1 1@3:1"]
    assert len(score.bars[0].voices) == 1
    (span,) = score.spans
    assert (span.kind, span.start_bar, span.start_beat, span.end_bar, span.end_beat) == ("let ring", 1, 0, 1, 4)
    assert span.notes == ("4@0", "3@1", "2@2", "1@3")


def test_three_strings_ringing_on_unmarked_keep_the_bass_and_say_let_ring():
    """A bass note through the bar, and two more that ring into the next: no third voice."""
    score = build_score(take("0 5 3 4", "0 3 0 1", "1 2 1 3", "2 1 0 2"))
    assert voice_text(score, 0) == ["3@0:1 2@1:1 1@2:2"]
    assert voice_text(score, 1) == ["5@0:4"]
    assert [(span.kind, span.notes) for span in score.spans] == [("let ring", ("2@1",))]


def test_a_string_sounds_one_note_at_a_time():
    upper, lower = voices("0 3 5 4", "1 3 7 1", "2 2 5 2")
    assert upper == ["3@0:1 3@1:1 2@2:2"]
    assert lower == [""]


def test_an_overlap_shorter_than_an_eighth_is_no_second_voice():
    upper, lower = voices("0 3 5 5/4", "1 2 5 1", "2 1 5 2")
    assert upper == ["3@0:1 2@1:1 1@2:2"]
    assert lower == [""]


def test_a_note_heard_under_later_ones_is_written_as_long_as_it_rang():
    """The rhythm room writes every note up to the next; this one was heard for the whole bar."""
    upper, lower = voices(take_note("0 5 3 1", sounds="4"), "1 2 5 1", "2 2 6 1", "3 2 8 1")
    assert lower == ["5@0:4"]
    assert upper == ["r:1 2@1:1 2@2:1 2@3:1"]


@pytest.mark.parametrize("mute", ["palm", "dead"])
def test_damped_notes_never_ring_under(mute):
    _, lower = voices(take_note("0 5 3 4", sounds="4", mute=mute), "1 2 5 1", "2 2 6 2")
    assert lower == [""]


def test_a_length_a_person_fixed_is_kept():
    fixed = replace(take_note("0 5 3 1", sounds="4"), locked=("value",))
    _, lower = voices(fixed, "1 2 5 1", "2 2 6 2")
    assert lower == [""]


def test_a_palm_mute_spans_its_run_and_a_rest_does_not_end_it():
    muted = [take_note(f"{at} 6 0 1/2", mute="palm") for at in ("1", "3/2", "3")]
    score = build_score(take("0 6 3 1", *muted, "4 6 3 4"))
    (span,) = score.spans
    assert (span.kind, span.start_bar, span.start_beat, span.end_bar, span.end_beat) == (
        "palm mute", 1, 1, 1, 7 / 2
    )  # fmt: skip


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.lists(
        st.tuples(st.integers(0, 15), st.integers(1, 6), st.integers(0, 12), st.integers(1, 12), st.booleans()),
        min_size=1,
        max_size=14,
        unique_by=lambda note: note[:2],
    )
)
def test_any_ringing_passage_has_full_bars_and_every_note_once(passage):
    notes = [
        take_note(f"{at}/2 {string} {fret} {length}/2", let_ring=rings) for at, string, fret, length, rings in passage
    ]
    score = build_score(take(*notes))
    heads = [
        (bar.number, index, head)
        for bar in score.bars
        for index, voice in enumerate(bar.voices)
        for event in voice
        for head in event.notes
    ]
    begun = [head.take.id for _, _, head in heads if not head.tied_from]
    assert sorted(begun) == sorted(note.id for note in notes)
    ended = [head.take.id for _, _, head in heads if not head.tied_to]
    assert sorted(ended) == sorted(begun)
    for name in begun:
        assert len({index for _, index, head in heads if head.take.id == name}) == 1, "a note keeps to one voice"
