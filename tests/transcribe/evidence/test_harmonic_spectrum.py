"""How loud a sound looks to the several-voices network: against the loud moments around it, but silence stays low."""

import numpy as np
import pytest

from transcribe.evidence.harmonic_spectrum import HOP, QUIETEST_REFERENCE_DB, RANGE_DB, RATE_HZ, harmonic_spectrum
from transcribe.evidence.network import SECTION_FRAMES, _inputs


def tone(seconds, level_db):
    t = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    return (10 ** (level_db / 20) * np.sin(2 * np.pi * 220 * t)).astype(np.float32)


@pytest.mark.parametrize("level_db", [-6.0, -40.0])
def test_a_soft_take_is_seen_as_a_loud_one_is(level_db):
    assert harmonic_spectrum(tone(1.0, level_db))[20:60].max() == pytest.approx(1.0, abs=0.02)


def test_the_hum_of_a_silent_take_is_not_blown_up_to_a_note():
    seen = harmonic_spectrum(tone(1.0, -100.0))[20:60].max()
    assert seen == pytest.approx(1.0 + (-100.0 - QUIETEST_REFERENCE_DB) / RANGE_DB, abs=0.03)
    assert seen < 0.7


def test_a_soft_passage_is_judged_within_its_own_minute():
    """A loud minute, then one 30 dB softer: what is loud is told anew."""
    minute_s = SECTION_FRAMES * HOP / RATE_HZ
    seen = np.concatenate(list(_inputs(np.concatenate([tone(minute_s, -10.0), tone(5.0, -40.0)]), 2)))
    assert seen[20:60].max() == pytest.approx(1.0, abs=0.02)
    assert seen[SECTION_FRAMES + 60 : -60].max() == pytest.approx(1.0, abs=0.02)
