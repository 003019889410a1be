"""Hertz, MIDI note numbers and cents: the few conversions every room shares."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from transcribe.errors import PitchError

CENTS_PER_OCTAVE = 1200.0
CONCERT_A_HZ = 440.0  # ISO 16:1975
CONCERT_A_MIDI = 69  # MIDI 1.0 specification: note number 60 is middle C


def hz_from_midi(midi: ArrayLike, *, reference_hz: float = CONCERT_A_HZ) -> NDArray[np.float64]:
    """Return frequencies in hertz for MIDI note numbers; fractions are hundredths of a semitone.

    >>> float(hz_from_midi(57))
    220.0
    """
    return reference_hz * np.exp2((np.asarray(midi, dtype=np.float64) - CONCERT_A_MIDI) / 12.0)


def midi_from_hz(pitch_hz: ArrayLike, *, reference_hz: float = CONCERT_A_HZ) -> NDArray[np.float64]:
    """Return fractional MIDI note numbers for frequencies in hertz; NaN stays NaN.

    Raises PitchError if a frequency is not above zero.

    >>> float(midi_from_hz(880.0))
    81.0
    """
    hz = np.asarray(pitch_hz, dtype=np.float64)
    if np.any(hz <= 0):
        raise PitchError(f"a frequency must be above 0 Hz; got {float(np.nanmin(hz))} Hz")
    return CONCERT_A_MIDI + 12.0 * np.log2(hz / reference_hz)


def cents_between(reference_hz: ArrayLike, heard_hz: ArrayLike) -> NDArray[np.float64]:
    """Return the signed interval from reference to heard pitch, in cents; above zero when heard is sharp.

    A. J. Ellis, "On the Musical Scales of Various Nations", J. Society of Arts 33, 1885.

    Raises PitchError if a frequency is not above zero.

    >>> float(cents_between(440.0, 880.0))
    1200.0
    """
    reference, heard = np.asarray(reference_hz, dtype=np.float64), np.asarray(heard_hz, dtype=np.float64)
    if np.any(reference <= 0) or np.any(heard <= 0):
        raise PitchError("a frequency must be above 0 Hz")
    return CENTS_PER_OCTAVE * np.log2(heard / reference)
