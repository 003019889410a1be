"""The stretch of overdriven notes, on tones whose stretch is known by formula and that no training saw."""

import numpy as np
import pytest

from tests.signals import RATE_HZ, hz, in_noise, plucked, steady
from transcribe.evidence.driven_stretch import (
    BESIDES,
    CENTS,
    LOGS,
    PARTIALS,
    cluster_rows,
    read_driven_stretch,
    ways_of,
)

PLAIN = [(midi, stretch) for midi in (45, 50, 55, 60, 64) for stretch in (3e-5, 6e-5, 1.2e-4, 2.4e-4)]


def rows(midi, stretch, *, gain=0.0, snr_db=50.0, seconds=0.75):
    """A plucked tone through a soft clip that leans a little, as many amplifiers do; clean without a gain."""
    pitch_hz = steady(hz(midi), seconds)
    sound = plucked(pitch_hz, stretch=stretch)
    if gain:
        sound = np.tanh(gain * sound / (2 * np.sqrt(np.mean(sound**2))) + 0.1)
    part = slice(int(0.05 * RATE_HZ), None)
    return cluster_rows(in_noise(sound - sound.mean(), snr_db)[part].astype(np.float32), RATE_HZ, pitch_hz[part])


def read(*told):
    answers = [read_driven_stretch(*each) for each in told]
    return np.array([driven for driven, _ in answers]), [ways for _, ways in answers]


def test_a_clean_partial_stands_where_a_stiff_string_puts_it():
    """k f sqrt(1 + B k^2): H. Fletcher, J. Acoust. Soc. Am. 36, 1964."""
    looked, periods = rows(50, 1.2e-4, snr_db=20)
    assert looked.shape == (PARTIALS, CENTS.size)
    assert periods == pytest.approx(0.7 * hz(50), rel=0.01)
    for k in (6, 10, 12):
        assert CENTS[looked[k - 1].argmax()] == pytest.approx(600 * np.log2(1 + 1.2e-4 * k * k), abs=1.5)


@pytest.mark.parametrize("gain", [2.0, 5.0, 12.0])
def test_overdriven_tones_tell_their_stretch(gain):
    driven, ways = read(*(rows(midi, stretch, gain=gain) for midi, stretch in PLAIN))
    assert np.mean(driven > 0.5) >= 0.9
    off = np.array([abs(way[0].log_stretch - np.log(stretch)) for way, (_, stretch) in zip(ways, PLAIN, strict=True)])
    assert np.median(off) < 0.12
    assert np.mean(off < 0.3) >= 0.8  # neighbouring strings differ by 0.25 to 1.1


def test_clean_tones_are_told_as_clean():
    assert np.mean(read(*(rows(midi, stretch) for midi, stretch in PLAIN))[0] < 0.5) >= 0.9


def test_a_blink_noise_and_silence_show_no_cluster():
    assert rows(45, 1e-4, gain=5.0, seconds=0.15) is None
    noise = np.random.default_rng(5).standard_normal(RATE_HZ).astype(np.float32)
    assert cluster_rows(noise, RATE_HZ, steady(hz(60), 1.0)) is None
    assert cluster_rows(0 * noise, RATE_HZ, steady(hz(60), 1.0)) is None


def test_each_hill_is_one_way_the_sharper_the_surer():
    wide, sharp = (np.exp(-0.5 * ((LOGS - at) / width) ** 2) for at, width in ((-10.5, 0.5), (-8.5, 0.15)))
    curve = 0.6 * wide / wide.sum() + 0.4 * sharp / sharp.sum()
    first, second = ways_of(curve / curve.sum())
    assert (first.share, second.share) == (pytest.approx(0.6, abs=0.02), pytest.approx(0.4, abs=0.02))
    assert first.log_stretch == pytest.approx(-10.5, abs=0.05)
    assert second.log_stretch == pytest.approx(-8.5, abs=0.05)
    assert first.error == pytest.approx(np.hypot(0.5, BESIDES), abs=0.05)
    assert second.error == pytest.approx(np.hypot(0.15, BESIDES), abs=0.03)
    (only,) = ways_of(0.9 * sharp / sharp.sum() + 0.1 * wide / wide.sum())
    assert only.share == 1.0
