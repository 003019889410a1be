"""Voices from hand-drawn maps: one at a time and several."""

from dataclasses import replace

import numpy as np
import pytest

from tests.notes_drawn import HOP_S, drawn_evidence, held
from transcribe.notes.track import find_strands, near_maximum
from transcribe.settings import NoteSettings

ONE = NoteSettings()
TWO = replace(ONE, max_voices=2)


def spans(strands):
    return [
        (round(s.first * HOP_S, 2), round((s.last + 1) * HOP_S, 2), round(float(np.median(s.midi)))) for s in strands
    ]


def test_one_voice_takes_the_stronger_of_two():
    evidence = drawn_evidence((0.1, held(60, 0.5), 0.9), (0.1, held(65, 0.5), 0.5), seconds=0.8, onsets_s=[0.1])
    assert spans(find_strands(evidence, ONE)) == [(0.1, 0.6, 60)]


def test_two_voices_are_both_found():
    evidence = drawn_evidence((0.1, held(60, 0.5), 0.9), (0.3, held(65, 0.5), 0.6), seconds=1.0, onsets_s=[0.1, 0.3])
    assert spans(find_strands(evidence, TWO)) == [(0.1, 0.6, 60), (0.3, 0.8, 65)]


def test_a_string_that_rings_on_under_a_louder_note_stays_one_strand():
    evidence = drawn_evidence((0.1, held(55, 0.9), 0.7), (0.4, held(64, 0.3), 0.95), seconds=1.2, onsets_s=[0.1, 0.4])
    assert spans(find_strands(evidence, TWO)) == [(0.1, 1.0, 55), (0.4, 0.7, 64)]


def test_a_short_octave_ghost_without_an_onset_makes_no_leap():
    line = np.concatenate((held(57, 0.3), held(69, 0.04), held(57, 0.3)))
    true = np.where(line == 69, 0.25, 0.9)
    evidence = drawn_evidence((0.1, held(57, 0.64), 0.3), seconds=0.9, onsets_s=[0.1])
    salience = evidence.salience.copy()
    ghost = drawn_evidence((0.1, line, 0.9), seconds=0.9).salience
    strands = find_strands(replace(evidence, salience=np.maximum(salience, ghost)), ONE)
    assert true.min() < 0.3  # the true octave nearly vanishes meanwhile
    assert spans(strands) == [(0.1, 0.74, 57)]


def test_the_same_leap_with_an_onset_is_a_note():
    line = np.concatenate((held(57, 0.3), held(69, 0.2)))
    evidence = drawn_evidence((0.1, line, 0.9), seconds=0.8, onsets_s=[0.1, 0.4])
    assert spans(find_strands(evidence, ONE)) == [(0.1, 0.4, 57), (0.4, 0.6, 69)]


def test_short_holes_are_filled_and_long_ones_are_not():
    short = drawn_evidence((0.1, held(60, 0.2), 0.9), (0.32, held(60, 0.2), 0.9), seconds=0.7, onsets_s=[0.1])
    assert spans(find_strands(short, ONE)) == [(0.1, 0.52, 60)]
    long = drawn_evidence((0.1, held(60, 0.2), 0.9), (0.5, held(60, 0.2), 0.9), seconds=0.9, onsets_s=[0.1, 0.5])
    assert len(find_strands(long, ONE)) == 2


@pytest.mark.parametrize("voices", [1, 3])
def test_silence_has_no_strands(voices):
    assert find_strands(drawn_evidence(seconds=0.5), replace(ONE, max_voices=voices)) == ()


def test_faint_salience_is_silence():
    assert find_strands(drawn_evidence((0.1, held(60, 0.5), 0.15), seconds=0.8, onsets_s=[0.1]), ONE) == ()


def test_strands_move_with_the_music():
    def tune(shift):
        return drawn_evidence(
            (0.1, held(57 + shift, 0.3), 0.9), (0.4, held(60 + shift, 0.3), 0.9), seconds=1.0, onsets_s=[0.1, 0.4]
        )

    low, high = find_strands(tune(0), ONE), find_strands(tune(5), ONE)
    assert [(s.first, s.last) for s in low] == [(s.first, s.last) for s in high]
    for a, b in zip(low, high, strict=True):
        assert np.all(np.abs(b.midi - a.midi - 5) < 0.02)


def test_near_maximum_by_hand():
    assert near_maximum(np.array([0, 0, 1, 0, 0, 0], dtype=np.float32), 1).tolist() == [0, 1, 1, 1, 0, 0]
