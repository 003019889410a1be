"""New energy at a note's own partials: a string struck again against one that only rings on."""

import numpy as np
import pytest

from tests.signals import hz, placed, plucked, recording, steady
from transcribe.evidence.network import voice_maps
from transcribe.notes.partial_rises import partial_features

LOWEST = 36
TOP, MEAN, COUNT, FIRST, ALL, LOUD, FUNDAMENTAL, ODD, LEVEL = range(9)


def features_at(sound, midi, at_s):
    take = recording(0.5 * sound)
    maps = voice_maps(take)
    frame = np.array([round(at_s / maps.hop_s)])
    return partial_features(take, maps, frame, np.array([midi - LOWEST]), frame.astype(float))[0]


def ringing(*more, midi=48):
    return placed((0.3, plucked(steady(hz(midi), 2.0), decay_s=5.0)), *more, seconds=2.3)


def test_a_string_struck_again_rises_and_one_that_rings_does_not():
    other = (1.0, plucked(steady(hz(57), 1.2)))  # its partials miss those of 48
    again = (1.0, plucked(steady(hz(48), 1.2), decay_s=5.0, phase_seed=3))
    rings, struck = (features_at(ringing(*more), 48, 1.0) for more in ((other,), (other, again)))
    assert rings[FIRST] < 0.1, "in tens of decibels"
    assert struck[FIRST] > rings[FIRST] + 0.2
    assert struck[MEAN] > rings[MEAN] + 0.2


def test_a_first_strike_rises_most():
    fresh = features_at(ringing(midi=60), 60, 0.3)
    assert fresh[FIRST] > 2.0
    assert fresh[LEVEL] == 0.0, "the loudest of the take"


def test_an_octave_that_nobody_plays_shows_in_its_odd_partials():
    sound = ringing(midi=48)
    played, below = features_at(sound, 48, 0.3), features_at(sound, 36, 0.3)
    assert below[ODD] < played[ODD] - 0.5, "a ghost an octave below has no odd partials of its own"


def test_partials_shared_with_another_string_do_not_count():
    alone = features_at(ringing(midi=60), 60, 0.3)
    under = features_at(ringing((0.3, plucked(steady(hz(48), 2.0)))), 60, 0.3)
    assert under[COUNT] < alone[COUNT]


@pytest.mark.filterwarnings("error")
def test_a_start_at_the_very_end_of_a_take_is_read_without_complaint():
    take = recording(0.5 * ringing(midi=60))
    maps = voice_maps(take)
    frame = np.array([maps.n_frames - 1])
    assert np.isfinite(partial_features(take, maps, frame, np.array([60 - LOWEST]), frame.astype(float))).all()
