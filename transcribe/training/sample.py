"""Made playing to listen to: python -m transcribe.training.sample --bank bank.npz --out DIR [--style chords]

Writes clips as 16-bit wav files, each with a table of the notes a reader would write (onset in seconds, pitch, how it
begins, string).
"""

from __future__ import annotations

import argparse
import sys
import wave
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from transcribe.errors import TakesheetError, WriteError
from transcribe.training.harmonic_zones import with_harmonics
from transcribe.training.music import STYLES
from transcribe.training.note_bank import RATE_HZ, Bank, read_bank
from transcribe.training.rehearsal import batch_of, hearing
from transcribe.training.strokes import TICK
from transcribe.training.train import players_of


def write_samples(bank: Bank, out: Path, *, clips: int, seed: int, style: str | None) -> tuple[Path, ...]:
    """Write clips, half on the string model, and return the sound files. Raises WriteError when ``out`` cannot be."""
    modal = (clips + 1) // 2
    batch = batch_of(players_of(bank), seed, 0, clips=clips, modal_clips=modal, style=style)
    sound = np.asarray(hearing(bank.samples, modal_clips=modal, with_sound=True)(batch)[2])
    made = []
    try:
        out.mkdir(parents=True, exist_ok=True)
        for k in range(clips):
            path = out / f"clip{k + 1}.wav"
            loud = sound[k] * (0.7 / max(float(np.abs(sound[k]).max()), 1e-6))
            with wave.open(str(path), "wb") as file:
                file.setnchannels(1)
                file.setsampwidth(2)
                file.setframerate(RATE_HZ)
                file.writeframes(np.round(loud * 32767).astype("<i2").tobytes())
            rows = ["onset_s\tmidi\tattack\tstring"]
            for event in batch["events"][k]:
                if event[0] >= 0:
                    attack = "legato" if event[2] else "picked"
                    rows.append(f"{event[0] * TICK / RATE_HZ:.3f}\t{event[1]:.2f}\t{attack}\t{int(event[5]) + 1}")
            path.with_suffix(".notes.tsv").write_text("\n".join(rows) + "\n", encoding="utf-8")
            made.append(path)
    except OSError as error:
        raise WriteError(f"cannot write into {out}: {error.strerror}", "choose a folder you may write to") from error
    return tuple(made)


def main(words: Sequence[str] | None = None) -> int:
    """Write clips as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="sample", description="Make some training audio to listen to.")
    parser.add_argument("--bank", type=Path, required=True, help="file made by note_bank")
    parser.add_argument("--out", type=Path, required=True, help="folder for the clips")
    parser.add_argument("--clips", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--style", choices=list(STYLES), help="one style instead of all")
    chosen = parser.parse_args(words)
    try:
        made = write_samples(
            with_harmonics(read_bank(chosen.bank)), chosen.out, clips=chosen.clips, seed=chosen.seed, style=chosen.style
        )
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"wrote {len(made)} clips into {chosen.out}. They differ much in loudness: turn the volume down first.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
