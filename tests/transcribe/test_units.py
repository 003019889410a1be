"""Pitch arithmetic against published values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.errors import PitchError
from transcribe.units import cents_between, hz_from_midi, midi_from_hz

# Open strings in hertz under equal temperament at A4 = 440 Hz (ISO 16:1975; f = 440 * 2 ** ((m - 69) / 12)).
OPEN_STRINGS_HZ = {64: 329.628, 59: 246.942, 55: 195.998, 50: 146.832, 45: 110.000, 40: 82.407}


@pytest.mark.parametrize(("midi", "hz"), OPEN_STRINGS_HZ.items())
def test_open_strings_stand_where_tables_put_them(midi, hz):
    assert abs(cents_between(hz, hz_from_midi(midi))) < 0.01


def test_just_intervals_in_cents():
    """Ratios 3/2, 5/4, 6/5 and 7/4: 701.955, 386.314, 315.641, 968.826 cents (A. J. Ellis, 1885)."""
    heard = cents_between(np.ones(4), np.array([3 / 2, 5 / 4, 6 / 5, 7 / 4]))
    assert np.abs(heard - [701.955, 386.314, 315.641, 968.826]).max() < 0.001


@given(st.floats(20, 100), st.floats(415, 466))
def test_there_and_back(midi, reference_hz):
    back = midi_from_hz(hz_from_midi(midi, reference_hz=reference_hz), reference_hz=reference_hz)
    assert abs(back - midi) * 100 < 1e-6


@pytest.mark.parametrize("hz", [0.0, -1.0])
def test_no_pitch_at_or_below_zero(hz):
    with pytest.raises(PitchError, match="above 0 Hz"):
        midi_from_hz(hz)
    with pytest.raises(PitchError, match="above 0 Hz"):
        cents_between(440.0, hz)


def test_silence_stays_silence():
    assert np.isnan(midi_from_hz(np.array([np.nan, 440.0]))[0])
