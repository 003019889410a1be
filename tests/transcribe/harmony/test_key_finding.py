from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.harmony_lines import line
from transcribe.harmony.key_finding import find_key, hints, named, pitch_class_weights, root_of, shares
from transcribe.harmony.sounding import Sounded
from transcribe.settings import HarmonySettings

BAR = Fraction(4)
SCALE = (60, 62, 64, 65, 67, 69, 71, 72)


def test_a_scale_from_tonic_to_tonic():
    found = find_key(line(*SCALE), BAR)
    assert (found.tonic, found.mode, found.source) == ("C", "major", "estimated")


def test_minor_pentatonic_home_to_its_root():
    found = find_key(line(69, 72, 74, 76, 79, 76, 74, 72, (69, "2")), BAR)
    assert (found.tonic, found.mode) == ("A", "minor")
    assert found.runner_up is not None


def test_curls_pull_towards_the_minor_key_of_the_blue_third():
    plain = line(60, 64, 67, 60)
    curled = (*plain[:-1], Sounded("n4", 60, 60, Fraction(3), Fraction(1), Fraction(4), curled=True))
    a_minor = 12 + 9
    before, after = (shares(hints(notes, BAR), HarmonySettings())[a_minor] for notes in (plain, curled))
    assert after > before


def test_no_note_has_no_key():
    assert find_key((), BAR) is None


def test_beliefs_sum_to_one():
    assert shares(hints(line(60, 61, 62), BAR), HarmonySettings()).sum() == pytest.approx(1)


@given(st.lists(st.integers(45, 75), min_size=3, max_size=12), st.integers(1, 11))
def test_transposing_turns_the_beliefs(pitches, semitones):
    here = shares(hints(line(*pitches), BAR), HarmonySettings())
    there = shares(hints(line(*(pitch + semitones for pitch in pitches)), BAR), HarmonySettings())
    turned = np.concatenate([np.roll(here[:12], semitones), np.roll(here[12:], semitones)])
    np.testing.assert_allclose(there, turned, atol=1e-9)


def test_a_bend_let_down_counts_at_both_pitches():
    bent = Sounded("n1", 64, 62, Fraction(0), Fraction(2), Fraction(2), 1.0, released=True)
    weights = pitch_class_weights((bent,))
    assert (weights[4], weights[2]) == (1.0, 1.0)


def test_the_root_of_the_last_chord_is_its_end():
    assert root_of([59, 62, 67]) == 7
    assert root_of([64, 72]) == 0
    assert root_of([40, 47]) == 4


def test_there_are_24_keys_with_signatures():
    assert len({named(index) for index in range(24)}) == 24
