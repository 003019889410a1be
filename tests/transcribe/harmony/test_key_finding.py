from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.harmony_lines import line
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key_finding import find_key, guitar_scores, named, scores, shares, spread
from transcribe.harmony.key_hints import hints
from transcribe.harmony.sounding import Sounded
from transcribe.settings import HarmonySettings

BAR = Fraction(4)
SCALE = (60, 62, 64, 65, 67, 69, 71, 72)


def beliefs(notes):
    return shares(scores(hints(notes, BAR)) + guitar_scores(notes, HarmonySettings()))


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
    before, after = (beliefs(notes)[a_minor] for notes in (plain, curled))
    assert after > before


def test_no_note_has_no_key():
    assert find_key((), BAR) is None


def test_beliefs_sum_to_one():
    assert beliefs(line(60, 61, 62)).sum() == pytest.approx(1)


@given(st.lists(st.integers(45, 75), min_size=3, max_size=12), st.integers(1, 11))
def test_transposing_turns_the_beliefs(pitches, semitones):
    here = scores(hints(line(*pitches), BAR))
    there = scores(hints(line(*(pitch + semitones for pitch in pitches)), BAR))
    turned = np.concatenate([np.roll(here[:12], semitones), np.roll(here[12:], semitones)])
    np.testing.assert_allclose(there, turned, atol=1e-9)


def test_there_are_24_keys_with_signatures():
    assert len({named(index) for index in range(24)}) == 24


@pytest.mark.parametrize(
    ("name", "notes"),
    [
        ("G major", line(67, (70, "1/2"), (71, "1/2"), 74, 77, (74, "1/2"), (71, "1/2"), (67, "2"))),
        (
            "A major",
            line(57, (60, "1/2"), (61, "1/2"), 64, (67, "1/2"), (69, "1/2"), (60, "1/2"), (61, "1/2"), (57, "2")),
        ),
        ("E major", line((52, 59), (52, 59), (52, 61), (52, 61), (52, 62), (52, 62), (52, 61), (52, 56))),
        ("A minor", line(69, 72, 74, 75, 76, 75, 74, 72, 67, (69, "3"))),
        ("G major", line((71, 74), (72, 76), (74, 77), (72, 76), (71, 74), (70, 74), (71, 74), (67, 71))),
    ],
)
def test_the_blues_is_at_home_on_its_dominant_seventh(name, notes):
    """Minor third up to major, flat seventh, pedal, box: the root of the seventh chord is home, not a fifth below."""
    found = find_key(notes, BAR)
    assert f"{found.tonic} {found.mode}" == name


def test_the_backing_tells_the_key_of_a_line_that_does_not():
    spans = (ChordSpan(Fraction(0), Fraction(4), "F"), ChordSpan(Fraction(4), Fraction(8), "C7"))
    found = find_key(line(69, 72, 69, 72, 67, 72, 67, 70), BAR, given=spans)
    assert f"{found.tonic} {found.mode}" == "F major"


def test_with_a_capo_open_chords_move_up():
    low, high = (find_key(line(61, 66), BAR, capo=capo) for capo in (0, 2))
    assert (low.tonic, low.confidence) != (high.tonic, high.confidence)


def test_a_runner_up_is_always_there():
    assert find_key(line(60), BAR).runner_up is not None


def test_a_line_without_half_steps_and_strings_that_sound_together_are_believed_less():
    """C D E G A parts C major from A minor by stress alone; B or F beside C or E would tell more."""
    told = HarmonySettings()
    gapped, whole = line(60, 62, 64, 67, 69), line(60, 62, 64, 65, 67)
    together = (*whole, Sounded("n9", 55, 55, Fraction(0), Fraction(4), Fraction(4)))
    assert spread(whole, told) == 1
    assert spread(gapped, told) == told.spread_without_half_steps > 1
    assert spread(together, told) == told.spread_of_several > 1
    sure = HarmonySettings(spread_without_half_steps=1.0)
    less, more = (find_key(gapped, BAR, settings) for settings in (told, sure))
    assert (less.tonic, less.mode, less.runner_up) == (more.tonic, more.mode, more.runner_up)
    assert less.confidence < more.confidence
