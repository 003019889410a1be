"""Natural harmonics of the guitars of a bank, made from their recorded notes in the range of open strings.

A finger that touches a string over a node leaves every nth partial (N. Fletcher and T. Rossing, "The Physics of Musical
Instruments", 2nd ed., chapter 2). A note added to copies of itself that are 1/n, 2/n ... of its period late keeps just
these. The first moments, before the last copy has come, still hold the others, as under a real finger.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.training.note_bank import PALM_GUITAR, RATE_HZ, TOUCHED, Bank, Zone, joined, zone
from transcribe.training.touches import STANDARD_OPEN
from transcribe.units import hz_from_midi

PARTIALS = (2, 3, 4, 5)
NEAR_SEMITONES = 2.5  # of an open string: a recorded note no farther stands for it


def with_harmonics(bank: Bank) -> Bank:
    """Return the bank with harmonics of every guitar, under the name of the guitar, TOUCHED and the partial.

    Recorded notes stay where they are; guitars without a note near an open string get none.
    """
    made = [each for name in bank.playable if name != PALM_GUITAR for each in _harmonics_of(bank, name)]
    if not made:
        return bank
    more = joined(made)
    count, known = bank.samples.size, len(bank.guitars)
    return Bank(
        np.concatenate([bank.samples, more.samples]),
        bank.guitars + more.guitars,
        np.concatenate([bank.guitar, more.guitar + np.int16(known)]),
        np.concatenate([bank.start, more.start + np.int32(count)]),
        np.concatenate([bank.length, more.length]),
        np.concatenate([bank.midi, more.midi]),
        np.concatenate([bank.level, more.level]),
    )


def _harmonics_of(bank: Bank, guitar: str) -> list[Zone]:
    mine = np.flatnonzero((bank.guitar == bank.guitars.index(guitar)) & (bank.midi > 0))
    away = np.abs(bank.midi[mine][:, None] - np.array(STANDARD_OPEN, np.float32))
    chosen = {
        int(mine[k]) for k, far in zip(away.argmin(axis=0), away.min(axis=0), strict=True) if far <= NEAR_SEMITONES
    }
    found = []
    for k in sorted(chosen):
        plain = bank.samples[bank.start[k] : bank.start[k] + bank.length[k]] / 32768.0
        midi = float(bank.midi[k])
        for partial in PARTIALS:
            sound = touched(plain, float(hz_from_midi(midi)), partial, RATE_HZ)
            rise = 12 * float(np.log2(partial))
            found.append(zone(f"{guitar}{TOUCHED}{partial}", midi + rise, sound.astype(np.float32)))
    return found


def touched(sound: NDArray[np.floating], open_hz: float, partial: int, rate_hz: int) -> NDArray[np.float64]:
    """Return the sound of an open string touched where only every ``partial``-th partial has a node, shape as given."""
    size = 2 * sound.size
    hz = np.fft.rfftfreq(size, 1 / rate_hz)
    late = np.arange(partial) / (partial * open_hz)
    passed = np.exp(-2j * np.pi * hz[:, None] * late).mean(axis=1)
    return np.asarray(np.fft.irfft(np.fft.rfft(sound, size) * passed, size)[: sound.size])
