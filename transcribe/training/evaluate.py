"""Measure shipped or new weights on made playing: python -m transcribe.training.evaluate --bank bank.npz [--weights F]

Clips of each style, on guitars nothing was trained on (or, with --known, on those it was), all from seeds that
training never uses. Notes pair within 50 ms and the right semitone, the convention of mir_eval; sums over all notes.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.errors import ReadError, SettingsError, TakesheetError
from transcribe.evaluate.matching import match_notes
from transcribe.evidence.network import load_network, voice_maps
from transcribe.notes.fused import SAME_S
from transcribe.notes.note import Note
from transcribe.notes.surer import OF_ONE_STRING
from transcribe.notes.voices import Voice, find_voices
from transcribe.training.convert_crepe import write_whole
from transcribe.training.harmonic_zones import with_harmonics
from transcribe.training.note_bank import PALM_GUITAR, RATE_HZ, Bank, read_bank
from transcribe.training.rehearsal import Batch, Players, batch_of, guitars_of, hearing
from transcribe.training.strokes import TICK

SEED = 1_000_003  # training counts its seeds from 1
AT_ONCE = 4  # clips made together
STYLES = ("line", "double stops", "chords", "oblique bends")


@dataclass(frozen=True, slots=True)
class Tally:
    """Notes found, wanted, written; how many of the found were told picked or legato rightly; invented partials."""

    right: int = 0
    wanted: int = 0
    written: int = 0
    attack_right: int = 0
    partials: int = 0  # written, not played, an octave, a twelfth or two octaves from a note that begins there

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            self.right + other.right,
            self.wanted + other.wanted,
            self.written + other.written,
            self.attack_right + other.attack_right,
            self.partials + other.partials,
        )

    @property
    def f(self) -> float:
        """Harmonic mean of precision and recall; 1 when there was nothing to find and nothing was written."""
        total = self.wanted + self.written
        return 1.0 if total == 0 else 2 * self.right / total


def measure(
    bank: Bank, guitars: tuple[str, ...], *, style: str, clips: int, weights: bytes | None, modal: bool = False
) -> Tally:
    """Return the tally over ``clips`` made clips, at least 1, of one style on ``guitars``, or on the string model."""
    names = bank.playable if modal else (*guitars, PALM_GUITAR)  # the string model takes the noises alone
    players = Players(bank.zones(names), guitars)
    size = min(AT_ONCE, clips)
    hear = hearing(bank.samples, modal_clips=size if modal else 0, with_sound=True)
    total = Tally()
    for number in range(-(-clips // size)):  # the last batch is made whole, and heard as far as it is wanted
        batch = batch_of(players, SEED, number, clips=size, modal_clips=size if modal else 0, style=style)
        sound = np.asarray(hear(batch)[2])
        for k in range(min(size, clips - number * size)):
            total += tally(batch, k, sound[k], weights)
    return total


def tally(batch: Batch, k: int, sound: NDArray[np.float32], weights: bytes | None) -> Tally:
    """Return how the notes of one clip were heard."""
    events = [event for event in batch["events"][k] if event[0] >= 0]
    wanted = [_note(j, event) for j, event in enumerate(events)]
    voices = find_voices(voice_maps(Recording(sound, RATE_HZ), weights=weights))
    heard = [_heard(j, voice) for j, voice in enumerate(voices)]
    pairs = match_notes(wanted, heard)
    same = sum(bool((voices[j].begin == "legato") == (events[i][2] > 0)) for i, j in pairs)
    invented = set(range(len(heard))) - {j for _, j in pairs}
    return Tally(len(pairs), len(wanted), len(heard), same, sum(_is_partial(heard[j], wanted) for j in invented))


def _is_partial(note: Note, played: Sequence[Note]) -> bool:
    """Whether a note that was not played begins with one that was, at the pitch of a partial of either."""
    near = (other for other in played if abs(other.onset_s - note.onset_s) <= SAME_S)
    return any(abs(other.midi - note.midi) in OF_ONE_STRING for other in near)


def _note(number: int, event: NDArray[Any]) -> Note:
    at_s = float(event[0]) * TICK / RATE_HZ
    return Note(f"r{number}", at_s, at_s + 0.1, round(float(event[1])))


def _heard(number: int, voice: Voice) -> Note:
    at_s = max(0.0, voice.onset_s)
    return Note(f"h{number}", at_s, at_s + 0.1, round(float(np.median(voice.midi[:6]))))


def figures(bank: Bank, *, clips: int, known: bool, weights: bytes | None) -> dict[str, dict[str, float]]:
    """Return what was found for every guitar group and style.

    Onset F, precision, recall, the share of attacks told rightly, partials taken for notes in 100, and how many notes.
    """
    groups: dict[str, tuple[tuple[str, ...], bool]] = {"string model": ((), True)}
    groups |= {name: ((name,), False) for name in guitars_of(bank, held_out=not known)}
    found: dict[str, dict[str, float]] = {}
    for group, (guitars, modal) in groups.items():
        for style in STYLES:
            t = measure(bank, guitars, style=style, clips=clips, weights=weights, modal=modal)
            found[f"{group}, {style}"] = {
                "onset F": round(t.f, 3),
                "precision": round(t.right / max(t.written, 1), 3),
                "recall": round(t.right / max(t.wanted, 1), 3),
                "attacks": round(t.attack_right / max(t.right, 1), 3),
                "partials": round(100 * t.partials / max(t.wanted, 1), 1),
                "notes": float(t.wanted),
            }
            print(f"{group + ', ' + style:34}", found[f"{group}, {style}"], flush=True)
    return found


def _read_weights(path: Path) -> bytes:
    try:
        weights = path.read_bytes()
        load_network(weights, threads=1)  # what is no network is told now, not once the clips are made
    except (OSError, ValueError) as error:
        raise ReadError(f"cannot read the weights {path}", "Give the .tflite file that export wrote.") from error
    return weights


def main(words: Sequence[str] | None = None) -> int:
    """Measure as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="evaluate", description="Measure the several-voices network on made playing.")
    parser.add_argument("--bank", type=Path, required=True, help="file made by note_bank, held-out guitars in it")
    parser.add_argument("--weights", type=Path, help="a .tflite file; the shipped one when left out")
    parser.add_argument("--clips", type=int, default=16, help="of 4.5 s, for each guitar and style")
    parser.add_argument("--known", action="store_true", help="on the guitars of training instead")
    parser.add_argument("--json", type=Path, help="also write the figures here")
    chosen = parser.parse_args(words)
    try:
        if chosen.clips < 1:
            raise SettingsError(f"nothing is measured on {chosen.clips} clips", "Give --clips 1 or more.")
        weights = None if chosen.weights is None else _read_weights(chosen.weights)
        bank = with_harmonics(read_bank(chosen.bank))
        found = figures(bank, clips=chosen.clips, known=chosen.known, weights=weights)
        if chosen.json is not None:
            write_whole(chosen.json, (json.dumps(found, indent=1) + "\n").encode())
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
