"""Pitch and time of tones known by formula."""

import numpy as np
import pytest

from tests import signals
from transcribe.notes.quick import quick_pitch


@pytest.mark.parametrize("midi", [41.0, 52.3, 64.0, 76.7, 85.0])
def test_a_plucked_tone_is_read_within_ten_cents(midi):
    take = signals.recording(signals.plucked(signals.steady(signals.hz(midi), 0.5)))
    seen = quick_pitch(take, np.arange(0.1, 0.4, 0.02), low_midi=midi - 2, high_midi=midi + 2)
    assert np.all(np.abs(seen - midi) * 100 < 10)


def test_a_jump_is_over_within_two_periods_and_a_little():
    pitch = np.concatenate((signals.steady(signals.hz(60), 0.3), signals.steady(signals.hz(62), 0.3)))
    take = signals.recording(signals.plucked(pitch))
    times = np.arange(0.2, 0.4, 0.0025)
    seen = quick_pitch(take, times, low_midi=59, high_midi=63)
    between = np.isfinite(seen) & (seen > 60.3) & (seen < 61.7)
    assert between.sum() * 0.0025 <= 2 / signals.hz(60) + 0.008
    assert abs(times[np.argmax(seen > 61)] - 0.3) < 0.01


def test_noise_has_no_pitch():
    take = signals.recording(np.random.default_rng(1).standard_normal(11025) * 0.1)
    seen = quick_pitch(take, np.arange(0.1, 0.4, 0.01), low_midi=58, high_midi=62)
    assert np.mean(np.isnan(seen)) > 0.8


def test_times_outside_the_recording_are_allowed():
    take = signals.recording(signals.tone(signals.steady(220.0, 0.2)))
    assert quick_pitch(take, np.array([-0.1, 0.1, 0.9]), low_midi=55, high_midi=59).shape == (3,)
