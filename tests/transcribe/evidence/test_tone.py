"""Colour and decay of sounds whose colour and decay are known."""

import numpy as np
import pytest

from tests.signals import RATE_HZ, hz, placed, plucked, recording, steady, times_s, tone
from transcribe.evidence.tone import decay_db_per_s, tone_of


@pytest.mark.parametrize("pitch_hz", [hz(40), hz(52), hz(64)])
@pytest.mark.parametrize("db_per_s", [10.0, 60.0, 300.0])
def test_decay_of_a_tone_is_read(pitch_hz, db_per_s):
    t = times_s(0.5)
    sound = tone(steady(pitch_hz, 0.5)) * 10 ** (-db_per_s * t / 20)
    assert abs(decay_db_per_s(recording(sound), 0.02, 0.3) / db_per_s - 1) < 0.15


def test_silence_after_a_short_sound_does_not_slow_its_decay():
    t = times_s(0.1)
    short = tone(steady(hz(52), 0.1)) * 10 ** (-400 * t / 20)
    assert decay_db_per_s(recording(placed((0.0, short), seconds=1.0)), 0.0, 0.9) > 300


def test_a_steady_or_growing_tone_does_not_decay():
    t = times_s(0.5)
    assert abs(decay_db_per_s(recording(tone(steady(110.0, 0.5))), 0.0, 0.5)) < 3
    assert decay_db_per_s(recording(tone(steady(110.0, 0.5)) * t), 0.1, 0.4) < 3


def test_centroid_of_a_sine_is_its_pitch():
    told = tone_of(recording(tone(steady(1000.0, 0.5))), 0.1, 0.3)
    assert abs(told.centroid_hz - 1000) < 10
    assert abs(told.level_db + 9.03) < 0.1  # a sine of peak 0.5: 20 log10(0.5 / sqrt 2)
    assert told.high_share < 0.001
    assert told.flatness < 0.001


def test_noise_is_flat_and_notes_are_not():
    noise = recording(0.1 * np.random.default_rng(0).standard_normal(RATE_HZ))
    assert 0.45 < tone_of(noise, 0.1, 0.3).flatness < 0.65  # exp(-Euler's constant) = 0.56 for white noise
    assert tone_of(recording(plucked(steady(hz(45), 0.5))), 0.02, 0.2).flatness < 0.02


def test_a_muffled_note_is_darker_and_dies_faster():
    open_note = tone_of(recording(plucked(steady(hz(40), 0.5))), 0.01, 0.15)
    muffled = tone_of(recording(plucked(steady(hz(40), 0.5), partials=5, decay_s=0.3)), 0.01, 0.15)
    assert muffled.high_share < 0.1 * open_note.high_share
    assert muffled.decay_db_per_s > 3 * open_note.decay_db_per_s


def test_the_clock_of_the_file_is_kept():
    sound = recording(placed((0.5, tone(steady(1000.0, 0.5))), seconds=1.0))
    late = type(sound)(sound.samples, sound.rate_hz, start_s=4.0)
    assert tone_of(late, 4.6, 4.9).level_db > -10
    assert tone_of(late, 4.1, 4.4).level_db < -100


@pytest.mark.parametrize("samples", [1, 50, 3000])
def test_spans_beyond_a_very_short_take(samples):
    told = tone_of(recording(0.1 * np.ones(samples)), 0.0, 1.0)
    assert np.isfinite(told.centroid_hz)
    assert np.isfinite(told.decay_db_per_s)
