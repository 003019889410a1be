import numpy as np
import pytest
from scipy.fft import next_fast_len

from tests import signals
from transcribe.notes.attack import Strike, envelope
from transcribe.notes.echoes import _fast_length, delay_s, without_echoes
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()
TIMES_S = (0.2, 0.71, 1.13, 1.52, 2.08, 2.6, 3.03)
TUNE = (57, 60, 62, 55, 64, 60, 67)


def played(repeat=0.0, lag_s=0.37):
    plucks = [
        (time_s, signals.plucked(signals.steady(signals.hz(midi), 0.4), phase_seed=midi))
        for time_s, midi in zip(TIMES_S, TUNE, strict=True)
    ]
    dry = signals.in_noise(signals.placed(*plucks, seconds=4.0), 50)
    lag = round(lag_s * signals.RATE_HZ)
    wet = dry.copy()
    wet[lag:] += repeat * dry[:-lag]
    return signals.recording(0.5 * wet)


@pytest.mark.parametrize("lag_s", [0.25, 0.37, 0.6])
def test_the_time_of_a_delay_is_found_to_a_millisecond(lag_s):
    assert delay_s(played(0.45, lag_s), SETTINGS) == pytest.approx(lag_s, abs=0.001)


def test_a_take_without_a_delay_has_none():
    assert delay_s(played(), SETTINGS) is None
    assert delay_s(signals.recording(np.zeros(2 * signals.RATE_HZ)), SETTINGS) is None
    assert delay_s(signals.recording(np.ones(500)), SETTINGS) is None


def test_a_weaker_strike_at_the_lag_is_an_echo_and_others_are_not():
    take = played(0.4, 0.37)
    loud = envelope(take)
    picks = tuple(Strike(time_s, 0.8, 12.0, 12.0, 3.0) for time_s in TIMES_S)
    echo = Strike(0.57, 0.4, 6.0, 6.0, 1.0)
    strikes = tuple(sorted((*picks, echo), key=lambda strike: strike.time_s))
    assert without_echoes(strikes, 0.37, loud, SETTINGS) == picks
    assert without_echoes(strikes, None, loud, SETTINGS) == strikes


def test_a_pick_as_loud_as_the_one_before_is_no_echo():
    take = played()
    picks = (Strike(0.2, 0.8, 12.0, 12.0, 3.0), Strike(0.71, 0.8, 12.0, 12.0, 3.0))
    assert without_echoes(picks, 0.51, envelope(take), SETTINGS) == picks


@pytest.mark.parametrize("least", [2, 97, 4097, 66_151, 1_000_001, 5_300_009])
def test_a_transform_is_as_short_as_scipy_would_have_it(least):
    assert least <= _fast_length(least) <= 1.01 * next_fast_len(least, real=True)
