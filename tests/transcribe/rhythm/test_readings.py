"""Tempo, metre and bar lines read together."""

import itertools
from fractions import Fraction

import pytest

from tests.rhythm_music import played
from transcribe.rhythm.features import FACTS, STRENGTHS, strength_table
from transcribe.rhythm.onsets import moments
from transcribe.rhythm.readings import Told, read_bars
from transcribe.rhythm.rhythm import Meter
from transcribe.rhythm.weights import BY_FACT, WEIGHTS
from transcribe.settings import RhythmSettings

SETTINGS = RhythmSettings()
WALTZ = "2 1 1 1 1 2 1 1 1 1 2 1 1 1 1 3"
JIG = "1/2 1/2 1/2 1 1/2 1/2 1/2 1/2 1 1/2 1/2 1/2 1/2 1 1/2 3/2 3/2"


def best(written, bpm, told=None, **more):
    line = played(written, bpm, jitter_s=0.008, **more)
    return read_bars(moments(line.notes, SETTINGS), SETTINGS, told or Told())[0]


def test_there_is_a_weight_for_every_fact():
    assert set(BY_FACT) == set(FACTS)
    assert len(FACTS) == len(set(FACTS))
    assert WEIGHTS.shape == (2, len(FACTS))


@pytest.mark.parametrize(
    ("meter", "tick", "strength"),
    [
        (Meter(4, 4), 0, "downbeat"),
        (Meter(4, 4), 48, "middle"),
        (Meter(4, 4), 12, "half"),
        (Meter(3, 4), 24, "beat"),
        (Meter(6, 8), 36, "middle"),
        (Meter(6, 8), 12, "half"),
        (Meter(4, 4), 5, "fine"),
    ],
)
def test_each_place_of_a_bar_has_its_strength(meter, tick, strength):
    assert STRENGTHS[strength_table(meter)[tick]] == strength


def test_shares_of_all_readings_sum_to_one_and_fall():
    line = played("1 1/2 1/2 1 1 1/2 1/2 1 2", 100, jitter_s=0.01)
    found = read_bars(moments(line.notes, SETTINGS), SETTINGS, Told())
    assert abs(sum(reading.likely for reading in found) - 1) < 1e-6
    assert all(here.likely >= there.likely for here, there in itertools.pairwise(found))


def test_a_waltz_is_found_to_be_in_three():
    assert best(WALTZ, 120).meter == Meter(3, 4)


def test_a_jig_is_found_to_be_in_six_eight():
    assert best(JIG, 160).meter == Meter(6, 8)


def test_what_is_told_is_kept():
    told = Told(tempo_bpm=100.0, meter=Meter(3, 4), downbeat_s=1.0, pickup_beats=Fraction(0))
    reading = best("1 1 1 1 1 1 1 1", 100, told)
    assert reading.meter == Meter(3, 4)
    assert abs(reading.quarter_bpm - 100) < 1e-6
    assert reading.ticks[0] % 72 == 0


def test_a_rising_fourth_before_a_long_note_is_a_pickup():
    told = Told(tempo_bpm=100.0, meter=Meter(3, 4))
    reading = best("1 2 1 2 1 2 1 2", 100, told, midis=(62, 67, 67, 71, 69, 67, 66, 67))
    assert reading.ticks[0] == -24
