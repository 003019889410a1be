"""Learn how far the network tells strings: python -m transcribe.training.learn_strings --bank bank.npz

Random passages are played on the string model, whose strings are known, in random scenes, as for the network itself.
Of every note the network's mean logarithms are read as a draft reads them (``notes/string_shares.py``); a power and a
share of notes of which nothing is told are chosen for the likelihood of the strings played, among those that can play
the note. It is the network's own mistakes that are learned: learn anew after new weights.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from itertools import product
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.errors import TakesheetError
from transcribe.evidence.network import voice_maps
from transcribe.notes.note import Note
from transcribe.notes.string_shares import WEIGHTS, Trust, believed, mean_log_shares
from transcribe.training.harmonic_zones import with_harmonics
from transcribe.training.note_bank import RATE_HZ, Bank, read_bank
from transcribe.training.rehearsal import Players, batch_of, hearing
from transcribe.training.sheet import CLIP_S, EVENT_FIELDS
from transcribe.training.strokes import TICK

Floats = NDArray[np.float64]

SEED = 3_000_017  # no other command's
CLIPS_AT_ONCE = 8
STANDARD_MIDI = (64, 59, 55, 50, 45, 40)
FRETS = 22
LONGEST_S = 0.6  # a note is read until the next of its pitch, or so long: the network itself says where it is held
POWERS = tuple(np.round(np.arange(0.1, 2.01, 0.05), 2).tolist())
NOTHINGS = (0.0, 0.01, 0.02, 0.03, 0.05, 0.07, 0.1, 0.15, 0.2, 0.3)
# Recorded guitars are believed less than made ones: for 48 recorded notes with known strings of a classical and two
# steel-string guitars, clean, driven and by telephone, powers of .7 to 1 were likeliest; made playing asks for more.
CARRIED_POWER, CARRIED_NOTHING = 0.85, 0.05


def examples(bank: Bank, *, clips: int, weights: bytes | None) -> Iterator[tuple[Floats, NDArray[np.bool_], int]]:
    """Yield for each note played its mean logarithms, which strings can play it, and the string (0 the first)."""
    players = Players(bank.zones(bank.playable), bank.playable)
    hear = hearing(bank.samples, modal_clips=CLIPS_AT_ONCE, with_sound=True)
    field = {name: EVENT_FIELDS.index(name) for name in EVENT_FIELDS}
    for number in range(clips // CLIPS_AT_ONCE):
        batch = batch_of(players, SEED, number, clips=CLIPS_AT_ONCE, modal_clips=CLIPS_AT_ONCE)
        sound = np.asarray(hear(batch)[2])
        for k in range(CLIPS_AT_ONCE):
            maps = voice_maps(Recording(sound[k], RATE_HZ), weights=weights, threads=1)
            events = [event for event in batch["events"][k] if event[field["tick"]] >= 0]
            for event in events:
                midi, at_s = round(float(event[field["midi"]])), float(event[field["tick"]]) * TICK / RATE_HZ
                string = round(float(event[field["string"]]))
                can = np.array([0 <= midi - base <= FRETS for base in STANDARD_MIDI])
                if event[field["harmonic"]] > 0 or not can[string] or at_s > CLIP_S - 0.1:
                    continue
                later = [float(each[field["tick"]]) * TICK / RATE_HZ for each in events if each is not event]
                until_s = min([at_s + LONGEST_S, *(each for each in later if each > at_s + 0.03)])
                logs = mean_log_shares(maps, Note("n", at_s, max(until_s, at_s + 0.12), midi))
                if logs is not None:
                    yield logs, can, string


def fitted(logs: Floats, can: NDArray[np.bool_], string: NDArray[np.intp]) -> tuple[Trust, float]:
    """Return the trust under which the strings played are likeliest, and their mean log likelihood."""

    def likelihood(trust: Trust) -> float:
        shares = np.where(can, believed(logs, trust), 0.0)
        mine = shares[np.arange(len(shares)), string] / shares.sum(axis=1)
        return float(np.mean(np.log(np.maximum(mine, 1e-9))))

    tried = [Trust(power, nothing) for power, nothing in product(POWERS, NOTHINGS)]
    best = max(tried, key=likelihood)
    return best, likelihood(best)


def main(words: Sequence[str] | None = None) -> int:
    """Learn as the command line says and write the file; return the exit code."""
    parser = argparse.ArgumentParser(prog="learn_strings", description="Learn how far the network tells strings.")
    parser.add_argument("--bank", type=Path, required=True, help="file made by note_bank")
    parser.add_argument("--weights", type=Path, help="a .tflite file; the shipped one when left out")
    parser.add_argument("--clips", type=int, default=48, help="of 4.5 s")
    parser.add_argument("--out", type=Path, default=Path("transcribe/notes/weights") / WEIGHTS)
    chosen = parser.parse_args(words)
    try:
        bank = with_harmonics(read_bank(chosen.bank))
        weights = None if chosen.weights is None else chosen.weights.read_bytes()
        found = list(examples(bank, clips=chosen.clips, weights=weights))
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    logs, can = np.array([each for each, _, _ in found]), np.array([each for _, each, _ in found])
    string = np.array([each for _, _, each in found])
    trust, mean = fitted(logs, can, string)
    right = float(np.mean(np.where(can, logs, -np.inf).argmax(axis=1) == string))
    told = {
        "written by": "python -m transcribe.training.learn_strings",
        "notes": len(found),
        "likeliest string right": round(right, 4),
        "strings that can play a note": round(float(can.sum(axis=1).mean()), 2),
        "mean log likelihood": round(mean, 4),
        "learned": {"power": trust.power, "nothing": trust.nothing},
        "power": round(min(trust.power, CARRIED_POWER), 3),
        "nothing": round(max(trust.nothing, CARRIED_NOTHING), 3),
    }
    chosen.out.write_text(json.dumps(told) + "\n", encoding="utf-8")
    print(json.dumps(told, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
