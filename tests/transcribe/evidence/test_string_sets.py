"""From stretches to strings, on readings made from strings that are known."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from transcribe.evidence.string_sets import DRIVEN_HEED, SET_SHARES, TYPICAL_SETS, explanations
from transcribe.evidence.string_stretch import StretchReading

OPEN = (64, 59, 55, 50, 45, 40)
PHRASE = ((2, 8), (2, 5), (3, 7), (3, 5), (4, 7), (4, 5), (5, 7), (1, 5), (1, 8))  # string, fret


def readings(places, open_b, *, seed=0, scatter=0.05):
    """What would be read of notes at ``places`` on strings with these B; B doubles every six frets."""
    off = np.random.default_rng(seed).normal(0, scatter, len(places))
    return [
        (StretchReading(float(np.log(open_b[string - 1]) + fret * np.log(2) / 6 + e), 0.03, 15),)
        for (string, fret), e in zip(places, off, strict=True)
    ]


def midis(places):
    return [OPEN[string - 1] + fret for string, fret in places]


def strings_of(explanation):
    return [None if weights is None else int(np.argmax(weights)) + 1 for weights in explanation.weights]


@pytest.mark.parametrize("name", TYPICAL_SETS)
@pytest.mark.parametrize("size", [0.8, 1.0, 1.25])
def test_the_strings_of_a_usual_set_of_any_gauge_are_found(name, size):
    open_b = [size * b for b, _ in TYPICAL_SETS[name]]
    best = explanations(readings(PHRASE, open_b), midis(PHRASE), OPEN, frets=22)[0]
    right = sum(found == string for found, (string, _) in zip(strings_of(best), PHRASE, strict=True))
    assert right >= 8


def test_the_same_pitch_on_two_strings_is_told_apart():
    open_b = [b for b, _ in TYPICAL_SETS["electric, plain third"]]
    places = ((1, 0), (2, 5), (3, 9), (4, 14))  # e above middle C four times
    best = explanations(readings(places, open_b), midis(places), OPEN, frets=22)[0]
    assert strings_of(best)[:3] == [1, 2, 3]


def test_an_unusual_guitar_keeps_its_true_explanation_among_others():
    open_b = [
        1.6 * b if string >= 3 else b for string, (b, _) in enumerate(TYPICAL_SETS["steel acoustic, wound third"])
    ]
    places = ((4, 7), (4, 5), (5, 7), (4, 4), (4, 7))
    found = explanations(readings(places, open_b), midis(places), OPEN, frets=22)
    assert [string for string, _ in places] in [strings_of(each) for each in found]
    assert all(here.worth >= there.worth for here, there in pairwise(found))


def test_a_note_without_a_reading_is_told_nothing():
    open_b = [b for b, _ in TYPICAL_SETS["electric, plain third"]]
    told = [(), *readings(PHRASE, open_b)[1:]]
    assert explanations(told, midis(PHRASE), OPEN, frets=22)[0].weights[0] is None
    assert explanations([()] * 3, [60, 62, 64], OPEN, frets=22) == ()
    assert explanations([], [], OPEN, frets=22) == ()


def test_a_reading_that_fits_no_string_speaks_for_none():
    open_b = [b for b, _ in TYPICAL_SETS["electric, plain third"]]
    told = [*readings(PHRASE, open_b), (StretchReading(float(np.log(1.9e-3)), 0.02, 12),)]
    weights = explanations(told, [*midis(PHRASE), 64], OPEN, frets=22)[0].weights[-1]
    assert max(weights) < 0.3


def test_a_note_that_can_be_read_in_two_ways_is_read_as_the_rest_of_the_take_says():
    open_b = [b for b, _ in TYPICAL_SETS["electric, plain third"]]
    told = readings(PHRASE, open_b)
    right = told[2][0]  # string 3, fret 7
    low = replace(right, log_stretch=right.log_stretch - 1.2, share=0.6)
    told[2] = (low, replace(right, share=0.4))
    assert strings_of(explanations(told, midis(PHRASE), OPEN, frets=22)[0])[2] == 3


def test_a_capo_leaves_no_string_below_it():
    open_b = [b for b, _ in TYPICAL_SETS["electric, plain third"]]
    weights = explanations(readings(((2, 3),), open_b), [62], OPEN, frets=22, capo=4)[0].weights[0]
    assert weights[1] == 0.0  # third fret lies behind the capo
    assert weights[2] > 0.0


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.tuples(st.integers(40, 86), st.floats(-12.4, -6.3), st.floats(0.01, 0.6)), min_size=1, max_size=12),
    st.integers(0, 5),
)
def test_weights_are_shares_of_the_strings_that_can_play_the_note(notes, capo):
    told = [(StretchReading(log_b, error, 8),) for _, log_b, error in notes]
    for each in explanations(told, [midi for midi, _, _ in notes], OPEN, frets=22, capo=capo):
        for (midi, _, _), weights in zip(notes, each.weights, strict=True):
            can = [capo <= midi - base <= 22 for base in OPEN]
            if weights is None:
                assert not any(can)
                continue
            assert abs(sum(weights) - 1) < 1e-9
            assert all(weight == 0 for weight, possible in zip(weights, can, strict=True) if not possible)


def test_the_more_notes_are_locked_by_distortion_the_less_the_others_are_heeded():
    clear = (StretchReading(np.log(4e-5) + np.log(2) / 6 * 5, 0.03, 12),)  # string 2, fret 5
    locked = (StretchReading(np.log(1e-5), 0.4, 12),)  # next to no stretch, though many partials fit
    sure = []
    for count in range(9):
        found = explanations([clear] * (8 - count) + [locked] * count, [64] * 8, (64, 59, 55, 50, 45, 40), frets=22)
        if not found:
            break
        sure.append(found[0].weights[0][1])
    assert sure[0] > 0.95
    assert all(more > less for more, less in pairwise(sure))
    assert 4 <= len(sure) < 9  # at last nothing is said


def test_what_is_read_through_distortion_is_heeded_half():
    open_b = [b for b, _ in TYPICAL_SETS["electric, plain third"]]
    plain = readings(PHRASE, open_b)
    through = [tuple(replace(way, partials=0) for way in ways) for ways in plain]
    clean, driven = (explanations(told, midis(PHRASE), OPEN, frets=22)[0] for told in (plain, through))
    assert strings_of(driven) == strings_of(clean)
    assert driven.worth == pytest.approx(DRIVEN_HEED * clean.worth)
    for sure, less in zip(clean.weights, driven.weights, strict=True):
        assert max(less) < max(sure) or max(sure) == 1.0


def test_few_partials_with_little_stretch_are_a_thin_string_and_no_distortion():
    thin = (StretchReading(np.log(1.3e-5), 0.3, 7),)
    assert explanations([thin] * 6, [64] * 6, (64, 59, 55, 50, 45, 40), frets=22)


def test_a_classical_guitar_must_explain_more_than_a_steel_one():
    assert sum(SET_SHARES.values()) == pytest.approx(1.0)
    assert SET_SHARES.keys() == TYPICAL_SETS.keys()
    assert SET_SHARES["classical"] < min(share for kind, share in SET_SHARES.items() if kind != "classical")


def test_as_many_readings_that_fit_no_string_hardly_shake_those_that_do():
    """How often readings go astray is learned from the take: they do not pull its strings away."""
    open_b = [b for b, _ in TYPICAL_SETS["electric, plain third"]]
    fitting = readings(PHRASE, open_b)
    astray = [(StretchReading(float(np.log(1.9e-3)), 0.02, 12),)] * len(PHRASE)
    told = explanations([*fitting, *astray], midis(PHRASE) * 2, OPEN, frets=22)[0]
    right = [told.weights[k][string - 1] for k, (string, _) in enumerate(PHRASE)]
    assert np.mean(right) > 0.8
