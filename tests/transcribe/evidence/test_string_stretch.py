"""The stretch of partials, on tones whose stretch is known by formula."""

import numpy as np
import pytest

from tests.signals import RATE_HZ, bend, hz, in_noise, plucked, steady, vibrato
from transcribe.evidence.string_stretch import LEAST_PARTIALS, hold_still, read_string_stretch

STIFF = (1.3e-5, 4.0e-5, 1.1e-4, 3.0e-4)


def read(pitch_hz, stretch, *, followed_hz=None, snr_db=45.0, others=(), more=0.0):
    sound = in_noise(plucked(pitch_hz, stretch=stretch) + more, snr_db)
    part = slice(int(0.05 * RATE_HZ), None)
    followed = pitch_hz if followed_hz is None else followed_hz
    ways = read_string_stretch(sound[part].astype(np.float32), RATE_HZ, followed[part], others)
    assert abs(sum(way.share for way in ways) - 1) < 1e-9
    return ways[0]


@pytest.mark.parametrize("stretch", STIFF)
@pytest.mark.parametrize("midi", [42, 50, 57, 64, 71])
def test_a_held_note_tells_its_stretch_within_a_tenth(midi, stretch):
    told = read(steady(hz(midi), 0.6), stretch)
    assert abs(told.log_stretch - np.log(stretch)) < 0.1
    assert told.partials >= LEAST_PARTIALS


@pytest.mark.parametrize(
    "pitch_hz",
    [vibrato(hz(62), 30, 5.5, 0.7), bend(hz(62), 200, 0.7, start_s=0.1, reach_s=0.3)],
    ids=["vibrato", "bend"],
)
def test_a_moving_pitch_does_not_smear_the_partials(pitch_hz):
    told = read(pitch_hz, 6e-5)
    assert abs(told.log_stretch - np.log(6e-5)) < 0.1


def test_a_pitch_followed_ten_cents_too_high_is_put_right():
    pitch_hz = steady(hz(57), 0.5)
    told = read(pitch_hz, 1e-4, followed_hz=pitch_hz * 2 ** (10 / 1200))
    assert abs(told.log_stretch - np.log(1e-4)) < 0.1


def test_another_string_a_third_away_is_kept_out():
    below = plucked(steady(hz(57), 0.6), stretch=1.1e-4, phase_seed=3)
    told = read(steady(hz(61), 0.6), 4e-5, others=((hz(57), hz(57)),), more=below)
    assert abs(told.log_stretch - np.log(4e-5)) < 0.2


def test_noise_makes_it_say_less_surely():
    clear, noisy = (read(steady(hz(55), 0.4), 1e-4, snr_db=snr_db) for snr_db in (60, 25))
    assert noisy.error > clear.error
    assert abs(noisy.log_stretch - np.log(1e-4)) < max(0.2, 4 * noisy.error)


def test_an_overdriven_note_can_be_read_in_several_ways_the_true_one_among_them():
    pitch_hz = steady(hz(57), 0.6)
    sound = np.tanh(8 * plucked(pitch_hz, stretch=1.1e-4)).astype(np.float32)
    part = slice(int(0.05 * RATE_HZ), None)
    ways = read_string_stretch(sound[part], RATE_HZ, pitch_hz[part])
    assert any(abs(way.log_stretch - np.log(1.1e-4)) < 0.15 for way in ways)
    assert abs(sum(way.share for way in ways) - 1) < 1e-9


def test_nothing_is_said_of_noise_silence_or_a_blink():
    noise = np.random.default_rng(5).standard_normal(8000).astype(np.float32)
    assert read_string_stretch(noise, RATE_HZ, steady(hz(60), 8000 / RATE_HZ)) == ()
    assert read_string_stretch(np.zeros(8000, dtype=np.float32), RATE_HZ, steady(hz(60), 8000 / RATE_HZ)) == ()
    blink = steady(hz(45), 0.03)
    assert read_string_stretch(plucked(blink).astype(np.float32), RATE_HZ, blink) == ()


def test_holding_still_makes_a_bend_one_pitch():
    pitch_hz = bend(hz(60), 200, 0.5, start_s=0.1, reach_s=0.4)
    still, a_period, _ = hold_still(plucked(pitch_hz, partials=1).astype(np.float32), RATE_HZ, pitch_hz)
    crossings = np.flatnonzero((still[:-1] < 0) & (still[1:] >= 0))
    assert np.ptp(np.diff(crossings)) <= 1
    assert abs(np.diff(crossings).mean() - a_period) < 0.05


def test_of_two_peaks_at_one_partial_the_nearer_alone_is_that_partial():
    """The high partials of a string beat with neighbours 2.5 cents above: two peaks, one partial each."""
    t = np.arange(round(1.6 * RATE_HZ)) / RATE_HZ
    number = np.arange(1, 19)
    place_hz = hz(55) * number * np.sqrt(1 + 5e-5 * number**2)
    string = sum(np.sin(2 * np.pi * at_hz * t + n) / n for n, at_hz in zip(number, place_hz, strict=True))
    beside = sum(
        0.8 * np.sin(2 * np.pi * at_hz * 2 ** (2.5 / 1200) * t) / n
        for n, at_hz in zip(number[11:], place_hz[11:], strict=True)
    )
    sound = in_noise(0.2 * (string + beside), 50).astype(np.float32)
    told = read_string_stretch(sound, RATE_HZ, np.full(t.size, hz(55)))[0]
    assert told.partials <= number.size
    assert abs(told.log_stretch - np.log(5e-5)) < 0.15
