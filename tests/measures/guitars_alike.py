"""Is a guitar a held-out one under another name? ``python -m tests.measures.guitars_alike BANK.npz``.

Free packages pass recordings on under new names. Prints for each guitar that is trained on how far the waves of its
notes agree with the nearest notes of each held-out guitar (cross-correlation, 1 for the same recording), as recorded
and brought to one pitch: in the middle over its notes, and at most. Plain notes of any two guitars may agree to .99; in
the middle different guitars agree to .82, and one that had been edited and renamed to .90.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from transcribe.training.note_bank import HELD_OUT, Bank, read_bank

SEMITONES = 1.6  # notes farther apart are not compared
SKIPPED, COMPARED = 200, 8192  # samples: past the attack's own moment, then 0.37 s
Floats = NDArray[np.float64]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.measures.guitars_alike", description=__doc__.split("\n")[0])
    parser.add_argument("bank", type=Path, help="file made by note_bank")
    bank = read_bank(parser.parse_args().bank)
    for name in bank.playable:
        if name not in HELD_OUT:
            for other in (guitar for guitar in HELD_OUT if guitar in bank.playable):
                found = list(agreements(bank, name, other))
                print(f"{name:14} {other:14} middle {np.median(found):.2f}, at most {max(found):.2f}", flush=True)


def agreements(bank: Bank, name: str, other: str) -> Iterator[float]:
    """Yield for each note of a guitar how far the nearest notes of another agree with it, 0 to 1."""
    theirs = [(float(bank.midi[k]), _spectrum(_sound(bank, k))) for k in _notes(bank, other)]
    for k in _notes(bank, name):
        midi, sound = float(bank.midi[k]), _sound(bank, k)
        best = 0.0
        for their_midi, their in theirs:
            if abs(their_midi - midi) <= SEMITONES:
                for ratio in {1.0, 2.0 ** ((their_midi - midi) / 12)}:
                    moved = np.interp(np.arange(0, sound.size - 1, ratio), np.arange(sound.size), sound)
                    wave = np.fft.irfft(_spectrum(moved) * their.conj())
                    best = max(best, float(np.abs(wave).max()))
        yield best


def _notes(bank: Bank, name: str) -> NDArray[np.intp]:
    return np.flatnonzero((bank.guitar == bank.guitars.index(name)) & (bank.midi > 0))


def _sound(bank: Bank, k: int) -> Floats:
    return bank.samples[bank.start[k] : bank.start[k] + bank.length[k]].astype(np.float64)


def _spectrum(sound: Floats) -> NDArray[np.complex128]:
    part = sound[SKIPPED : SKIPPED + COMPARED]
    part = part - part.mean()
    return np.fft.rfft(part / max(float(np.linalg.norm(part)), 1e-9), 2 * COMPARED)


if __name__ == "__main__":
    main()
