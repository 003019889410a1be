"""Waves sawn off by a known number of decibels, and waves rounded by a drive, which are not clipped."""

from __future__ import annotations

import numpy as np
import pytest

from tests.signals import hz, placed, plucked, steady
from transcribe.audio.clipping import measure_clipping
from transcribe.settings import AudioSettings

RATE_HZ = 44100
SETTINGS = AudioSettings()


def lick() -> np.ndarray:
    """Eight plucked notes, peak 1.0."""
    pitches = (45, 50, 55, 59, 52, 48, 64, 57)
    notes = [(0.5 * k, plucked(steady(hz(m), 0.5, RATE_HZ), rate_hz=RATE_HZ)) for k, m in enumerate(pitches)]
    sound = placed(*notes, seconds=4.0, rate_hz=RATE_HZ)
    return sound / np.abs(sound).max()


def in_16_bits(sound: np.ndarray) -> np.ndarray:
    """What a 16-bit converter makes of it."""
    return (np.clip(np.round(sound * 32768), -32768, 32767) / 32768).astype(np.float32)


def test_a_clean_take_has_no_flat_tops() -> None:
    assert measure_clipping(in_16_bits(lick()), RATE_HZ, settings=SETTINGS).share == 0.0


def test_the_share_is_the_one_that_was_sawn_off() -> None:
    """A sine of 2.0 clipped at 1.0 is flat for two thirds of the time: it is above sin 30 degrees from 30 to 150."""
    t = np.arange(RATE_HZ) / RATE_HZ
    sound = in_16_bits(2.0 * np.sin(2 * np.pi * 110.3 * t))
    found = measure_clipping(sound, RATE_HZ, settings=SETTINGS)
    assert found.share == pytest.approx(2 / 3, abs=0.01)
    assert found.corner > 0.9
    assert found.top == pytest.approx(1.0, abs=1e-4)


def test_the_share_grows_with_the_overload() -> None:
    shares = [
        measure_clipping(in_16_bits(lick() * 10 ** (db / 20)), RATE_HZ, settings=SETTINGS).share
        for db in (0, 1, 3, 6, 12)
    ]
    assert shares == sorted(shares)
    assert shares[1] > SETTINGS.clipping_remark_share
    assert shares[2] < SETTINGS.clipping_refuse_share < shares[4]


def test_a_drive_rounds_and_a_converter_saws() -> None:
    sawn = [measure_clipping(in_16_bits(lick() * 10 ** (db / 20)), RATE_HZ, settings=SETTINGS) for db in (6, 12, 20)]
    driven = [measure_clipping(in_16_bits(np.tanh(g * lick())), RATE_HZ, settings=SETTINGS) for g in (3, 6, 12, 30)]
    assert min(found.corner for found in sawn) > SETTINGS.clipping_corner
    assert max(found.corner for found in driven) < SETTINGS.clipping_corner


def test_one_side_alone_is_seen() -> None:
    """An input that is off centre clips on one side first."""
    sound = in_16_bits(lick() * 0.9 + 0.5)
    found = measure_clipping(sound, RATE_HZ, settings=SETTINGS)
    assert found.share > SETTINGS.clipping_remark_share
    assert found.top == pytest.approx(1.0, abs=1e-4)


def test_rests_do_not_thin_the_share_out() -> None:
    loud = in_16_bits(lick() * 4)
    rests = np.concatenate([np.zeros(10 * RATE_HZ, np.float32), loud, np.zeros(10 * RATE_HZ, np.float32)])
    alone = measure_clipping(loud, RATE_HZ, settings=SETTINGS).share
    assert measure_clipping(rests, RATE_HZ, settings=SETTINGS).share == pytest.approx(alone, rel=0.02)
