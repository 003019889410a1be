import numpy as np
import pytest

from tests import signals
from tests.notes_drawn import drawn_evidence
from transcribe.notes.attack import BLOCK, envelope, find_strikes, high_passed, onset_peaks
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()


def pluck(midi, seconds=0.6, level=0.5):
    return signals.plucked(signals.steady(signals.hz(midi), seconds), level=level)


def test_the_level_of_a_full_scale_sine_is_three_decibels_below_full_scale():
    loud = envelope(signals.recording(signals.tone(signals.steady(440.0, 0.5), level=1.0)))
    assert np.all(np.abs(loud.span(loud.all_db, 0.1, 0.4) + 3.01) < 0.3)


def test_a_low_tone_has_little_above_two_kilohertz():
    loud = envelope(signals.recording(signals.tone(signals.steady(110.0, 0.5))))
    assert np.median(loud.span(loud.high_db, 0.1, 0.4)) < np.median(loud.span(loud.all_db, 0.1, 0.4)) - 35


def test_a_pick_out_of_silence_is_a_sure_pick():
    take = signals.recording(signals.placed((0.3, pluck(57)), seconds=1.0))
    (strike,) = find_strikes(envelope(take), drawn_evidence(seconds=1.0, onsets_s=[0.3]), SETTINGS)
    assert strike.time_s == 0.3
    assert strike.rise_db > 30
    assert strike.pick_likelihood > 0.99


def test_an_onset_with_nothing_behind_it_is_hardly_a_pick():
    take = signals.recording(signals.tone(signals.steady(220.0, 1.0)))
    evidence = drawn_evidence(seconds=1.0, onsets_s=[0.5])
    evidence.onset[50, 0] = 0.2
    (strike,) = find_strikes(envelope(take), evidence, SETTINGS)
    assert strike.pick_likelihood < 0.1


def test_a_stopped_string_is_kept_less():
    ringing = pluck(57, 1.0)
    ringing[round(0.5 * signals.RATE_HZ) :] *= 0.05
    (strike,) = find_strikes(
        envelope(signals.recording(ringing)), drawn_evidence(seconds=1.0, onsets_s=[0.5]), SETTINGS
    )
    assert strike.kept_db < -20


def test_of_two_near_peaks_the_stronger_counts():
    onset = np.zeros(50)
    onset[[10, 12, 30]] = [0.5, 0.8, 0.3]
    assert onset_peaks(onset, floor=0.1, apart=4).tolist() == [12, 30]
    assert onset_peaks(np.zeros(10), floor=0.1, apart=4).size == 0


@pytest.mark.parametrize("rate_hz", [8000, 22050, 48000])
def test_the_high_pass_is_the_one_of_scipy(rate_hz):
    from scipy.signal import butter, sosfilt

    samples = np.random.default_rng(4).standard_normal(3 * BLOCK + 17)
    known = sosfilt(butter(2, 2000.0, "highpass", fs=rate_hz, output="sos"), samples)
    assert np.abs(high_passed(samples, 2000.0, rate_hz) - known).max() < 1e-10
