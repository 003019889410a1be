"""Pairs of notes: by hand, and against mir_eval (C. Raffel et al., ISMIR 2014) on random lines."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mir_eval import transcription

from tests.strategies import single_lines
from transcribe.evaluate.matching import match_notes, match_onsets, most_pairs
from transcribe.notes.note import Note
from transcribe.units import hz_from_midi


def note(onset_s, offset_s, midi, name="n1"):
    return Note(name, onset_s, offset_s, midi)


def test_a_note_fifty_milliseconds_away_is_the_same_note_and_a_little_more_is_not():
    assert match_notes([note(1.0, 1.5, 64)], [note(1.05, 1.5, 64)]) == [(0, 0)]
    assert match_notes([note(1.0, 1.5, 64)], [note(1.0502, 1.5, 64)]) == []


def test_the_semitone_beside_is_another_note():
    assert match_notes([note(1.0, 1.5, 64)], [note(1.0, 1.5, 65)]) == []


def test_one_drafted_note_answers_for_one_note_only():
    assert len(match_notes([note(1.0, 1.5, 64), note(1.04, 1.5, 64, "n2")], [note(1.02, 1.5, 64)])) == 1


def test_as_many_pairs_as_possible_are_made_where_the_nearest_pair_would_leave_one_over():
    # 1.00 is near 1.03 only; 1.05 is nearer to 1.03, yet must take 1.09
    wanted, heard = [note(1.0, 1.5, 64), note(1.05, 1.6, 64)], [note(1.03, 1.5, 64), note(1.09, 1.6, 64)]
    assert match_notes(wanted, heard) == [(0, 0), (1, 1)]


@pytest.mark.parametrize(("offset_s", "same"), [(1.8, True), (1.79, False), (2.2, True), (2.21, False)])
def test_an_end_may_be_a_fifth_of_the_length_away(offset_s, same):
    assert bool(match_notes([note(1.0, 2.0, 64)], [note(1.0, offset_s, 64)], ends=True)) == same


def test_the_end_of_a_short_note_may_be_fifty_milliseconds_away():
    assert match_notes([note(1.0, 1.1, 64)], [note(1.0, 1.15, 64)], ends=True) == [(0, 0)]


def test_nothing_pairs_with_nothing():
    assert match_notes([], [note(1, 2, 64)]) == match_notes([note(1, 2, 64)], []) == match_onsets([], [1.0]) == []
    assert most_pairs(np.zeros((0, 2), dtype=int)) == []


def test_notes_in_any_order_pair_with_those_of_their_time():
    line = [note(0.3 * k, 0.3 * k + 0.2, 60 + k % 12) for k in range(8)]
    assert match_notes(line, line[::-1]) == [(k, 7 - k) for k in range(8)]


def test_a_long_take_is_matched_without_looking_at_every_pair():
    """5000 notes: only those near in time are looked at."""
    line = [note(0.3 * k, 0.3 * k + 0.2, 60 + k % 12) for k in range(5000)]
    match_notes(line[:2], line[:2])  # what is imported does not count
    tracemalloc.start()
    pairs = match_notes(line, line, ends=True)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert pairs == [(k, k) for k in range(5000)]
    assert peak < 5000 * 5000 / 5  # a table of yes and no for all pairs would be five times that


@settings(max_examples=60, deadline=None)
@given(single_lines(most=10), st.randoms(use_true_random=False))
def test_as_many_notes_are_found_as_by_the_reference_library(line, random):
    heard = [
        Note(each.id, max(0.0, each.onset_s + shift), each.offset_s + shift + random.uniform(0, 0.3), each.midi + wrong)
        for each in line
        for shift, wrong in [(random.uniform(-0.07, 0.07), random.choice((0, 0, 0, 1)))]
        if random.random() > 0.15
    ]
    ours = [len(match_notes(line, heard, ends=ends)) for ends in (False, True)]
    arrays = [
        (
            np.array([(each.onset_s, each.offset_s) for each in side]).reshape(-1, 2),
            hz_from_midi([each.midi for each in side]),
        )
        for side in (line, heard)
    ]
    (wanted, wanted_hz), (found, found_hz) = arrays
    theirs = [
        len(transcription.match_notes(wanted, wanted_hz, found, found_hz, offset_ratio=ratio)) if heard else 0
        for ratio in (None, 0.2)
    ]
    assert ours == theirs
