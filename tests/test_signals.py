"""The test sounds have the pitch their formulas say."""

import numpy as np
import pytest

from tests import signals


def strongest_hz(samples, near_hz):
    size = 1 << 19
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(samples.size), size))
    low, high = int(0.97 * near_hz * size / signals.RATE_HZ), int(1.03 * near_hz * size / signals.RATE_HZ)
    return (low + int(np.argmax(spectrum[low:high]))) * signals.RATE_HZ / size


def test_concert_a_is_440_hz():
    assert signals.hz(69) == 440.0
    assert signals.hz(57, 1200) == pytest.approx(440.0)


@pytest.mark.parametrize("n", [1, 2, 5, 10])
def test_partials_of_a_stiff_string_are_stretched(n):
    samples = signals.plucked(signals.steady(196.0, 1.5), stretch=1.1e-4)
    true_hz = n * 196.0 * np.sqrt(1 + 1.1e-4 * n * n)
    assert abs(1200 * np.log2(strongest_hz(samples, true_hz) / true_hz)) < 0.5


def test_a_bend_starts_and_stops_where_it_says():
    pitch = signals.bend_and_release(220.0, 200, 2.0, start_s=0.5, reach_s=0.7, leave_s=1.2, back_s=1.4)
    at = (np.array([0.4, 0.6, 0.8, 1.3, 1.5]) * signals.RATE_HZ).astype(int)
    assert np.allclose(1200 * np.log2(pitch[at] / 220.0), [0, 100, 200, 100, 0], atol=0.1)


def test_a_glide_covers_equal_cents_in_equal_times():
    pitch = signals.glide(220.0, 440.0, 1.0)
    assert 1200 * np.log2(pitch[signals.RATE_HZ // 4] / 220.0) == pytest.approx(300, abs=0.2)


def test_vibrato_swings_evenly_about_its_pitch():
    cents = 1200 * np.log2(signals.vibrato(330.0, 40, 5.0, 1.0) / 330.0)
    assert (cents.max(), cents.min()) == (pytest.approx(40, abs=0.1), pytest.approx(-40, abs=0.1))


def test_noise_has_its_level():
    quiet = signals.tone(signals.steady(440.0, 1.0))
    noise = signals.in_noise(quiet, 20.0) - quiet
    assert 10 * np.log10(np.mean(quiet**2) / np.mean(noise**2)) == pytest.approx(20, abs=0.2)
