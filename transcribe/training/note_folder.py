"""Recorded notes in a folder: which sound, which guitar, which pitch.

A folder holds audio files and a ``manifest.tsv`` whose columns ``file`` and ``midi`` are needed; ``articulation``,
``measured_cents`` (from ``midi``) and ``dynamic`` are used when they are there. The first part of each file's path
names its guitar. Rows of an articulation with "noise", "muted" or "release" are sounds that are no notes. A folder
without a manifest is one guitar, its files named by what sounds in scientific pitch notation: A2, C#3, Cs3, Bb4.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import ReadError
from transcribe.training.note_bank import RATE_HZ, Zone, zone

LONGEST_S = 6.0  # of a note; a clip of training is shorter
NOISE_WORDS = ("noise", "muted", "release")
PITCH = re.compile(r"([A-G])(s|#|b)?(\d)")  # scientific pitch notation; s where a file's name can hold no #
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11, "s": 1, "#": 1, "b": -1, "": 0}
SOUNDS = (".wav", ".flac", ".ogg", ".mp3")


def zones_of_folder(folder: Path, *, name: str | None = None, leave_out: tuple[str, ...] = ()) -> list[Zone]:
    """Return the sounds a folder's manifest names, but for files whose name holds a text of ``leave_out``.

    Without a manifest every sound file that is named by a pitch is a note of the guitar ``name``, or of the folder's.
    Raises ReadError when nothing tells the pitches, or a row of the manifest has no readable one.
    """
    manifest = folder / "manifest.tsv"
    if not manifest.is_file():
        named = {file: midi for file in sorted(folder.glob("*")) if (midi := named_pitch(file)) is not None}
        if not named:
            raise ReadError(
                f"no manifest.tsv in {folder}, and no sound file named by its pitch",
                "Write one with the columns file and midi, tab between them, or name the files A2.wav, Cs3.wav ...",
            )
        return [zone(name or folder.resolve().name, float(midi), _sound(file)) for file, midi in named.items()]
    found = []
    with manifest.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines, delimiter="\t"):
            if any(text in row["file"] for text in leave_out):
                continue
            guitar = name or Path(row["file"]).parts[0]
            found.append(zone(guitar, _pitch(row, manifest), _sound(folder / row["file"])))
    return found


def named_pitch(file: Path) -> int | None:
    """Return the MIDI number a sound file is named by, None where it is not (scientific pitch notation, A4 = 69).

    >>> named_pitch(Path("Cs3.wav")), named_pitch(Path("Bb3.flac")), named_pitch(Path("cover.jpg"))
    (49, 58, None)
    """
    told = PITCH.fullmatch(file.stem)
    if told is None or file.suffix.lower() not in SOUNDS:
        return None
    letter, sign, octave = told.groups(default="")
    return SEMITONES[letter] + SEMITONES[sign] + 12 * (int(octave) + 1)


def _sound(file: Path) -> NDArray[np.float32]:
    import soxr

    from transcribe.audio.read import read_recording
    from transcribe.settings import AudioSettings

    recording = read_recording(file, settings=AudioSettings(min_take_s=0.01))
    sound = soxr.resample(recording.samples, recording.rate_hz, RATE_HZ).astype(np.float32)
    return np.asarray(sound[: int(LONGEST_S * RATE_HZ)], np.float32)


def _pitch(row: dict[str, str], manifest: Path) -> float:
    if any(word in (row.get("articulation") or "") for word in NOISE_WORDS):
        return 0.0
    try:
        return float(row["midi"]) + float(row.get("measured_cents") or 0.0) / 100
    except (KeyError, TypeError, ValueError) as error:
        raise ReadError(
            f"{manifest} has no pitch for {row.get('file')}", "Give a note number in the column midi."
        ) from error
