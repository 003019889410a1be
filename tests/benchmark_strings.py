"""Measure the string clue: ``python -m tests.benchmark_strings [--bank DIR]``.

Protocol: every lick of fixtures/licks is played on guitars of the string model (clean, driven, acoustic; none of the
sampled guitars carries a string in its sound), as recorded, and as a telephone in a noisy room would keep it (300 to
3400 Hz, the speech band of ITU-T G.712, white noise 30 dB below). It is drafted with the tuning, the capo and nothing
else told; a drafted note counts when it pairs with one played (50 ms, same semitone). "steel-acoustic" is held out.
``--bank`` adds recorded single notes: a folder whose manifest.tsv has columns file, midi, measured_cents, string, fret.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fingering.fretboard import Fretboard
from fixtures.licks import LICKS
from fixtures.render import seed_of
from transcribe.audio.read import read_recording
from transcribe.audio.recording import Recording
from transcribe.errors import TakesheetError
from transcribe.evidence.crepe import crepe_evidence
from transcribe.evidence.string_sets import explanations
from transcribe.evidence.string_stretch import StretchReading, read_string_stretch
from transcribe.notes.hear import hear_notes
from transcribe.notes.note import Note
from transcribe.notes.string_clue import string_explanations
from transcribe.settings import Settings
from transcribe.stringing import string_and_place
from transcribe.training.guitars import GUITARS
from transcribe.training.perform import Performance, perform
from transcribe.training.render import render

RATE_HZ = 22050
PAIR_S = 0.05
PHONE_HZ = (300.0, 3400.0)
PHONE_NOISE_DB = -30.0
OPEN_MIDI = (64, 59, 55, 50, 45, 40)


@dataclass(slots=True)
class Count:
    """How many notes were placed on the string they were played on."""

    notes: int = 0
    without: int = 0  # by the fingering alone
    with_clue: int = 0
    read: int = 0  # the sound says something
    clue_right: int = 0  # its likeliest string is the one played


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark_strings", description=__doc__.split("\n")[0])
    parser.add_argument("--guitar", choices=tuple(GUITARS), help="only this guitar of the string model")
    parser.add_argument("--bank", type=Path, metavar="DIR", help="also read recorded single notes with known strings")
    chosen = parser.parse_args()
    print("whole licks            notes  same string: hand alone  with the sound   notes read  likeliest string right")
    for guitar in GUITARS if chosen.guitar is None else (chosen.guitar,):
        for phone in (False, True):
            count = Count()
            for name in LICKS:
                _count_lick(count, perform(LICKS[name]), guitar, phone=phone)
            label = f"{guitar}{', phone' if phone else ''}"
            print(
                f"{label:24}{count.notes:4}{count.without / count.notes:22.3f}{count.with_clue / count.notes:16.3f}"
                f"{count.read / count.notes:13.2f}{count.clue_right / max(count.read, 1):18.3f}"
            )
    if chosen.bank is not None:
        print("\nrecorded single notes   notes   read   right alone   right within the guitar")
        for guitar, rows in _banks(chosen.bank):
            print(f"{guitar:22}{_count_bank(chosen.bank, rows)}")


def _count_lick(count: Count, performance: Performance, guitar: str, *, phone: bool) -> None:
    lick = performance.lick
    sound = render(performance, GUITARS[guitar], rate_hz=RATE_HZ, seed=seed_of(lick.name, guitar))
    recording = Recording(as_phone(sound) if phone else sound, RATE_HZ)
    settings = Settings()
    try:
        heard = hear_notes(recording, crepe_evidence(recording, settings.evidence), settings)
    except TakesheetError:
        return
    board = Fretboard(open_midi=lick.open_strings_midi, capo=lick.capo)
    found = string_explanations(
        recording,
        heard.notes,
        open_midi=board.open_midi,
        frets=board.frets,
        capo=board.capo,
        tuning_semitones=heard.tuning_offset_cents / 100,
    )
    alone = string_and_place(heard.notes, (), board, profile="lead line").fingering
    both = string_and_place(heard.notes, found, board, profile="lead line")
    weights = {note.id: note.string_weights for note in both.notes}
    for note, string in _paired(heard.notes, performance):
        count.notes += 1
        count.without += getattr(alone.placement(note.id), "string", None) == string
        count.with_clue += getattr(both.fingering.placement(note.id), "string", None) == string
        told = weights[note.id]
        count.read += told is not None
        count.clue_right += told is not None and int(np.argmax(told)) + 1 == string


def as_phone(sound: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the sound in the speech band with white noise, shape as given."""
    from scipy.signal import butter, sosfilt

    band = sosfilt(butter(4, PHONE_HZ, "bandpass", fs=RATE_HZ, output="sos"), sound)
    noise = np.random.default_rng(11).standard_normal(sound.size) * np.sqrt(np.mean(band**2))
    return np.asarray(band + noise * 10 ** (PHONE_NOISE_DB / 20), dtype=np.float32)


def _paired(notes: tuple[Note, ...], performance: Performance) -> Iterator[tuple[Note, int]]:
    for note in notes:
        for played in performance.notes:
            same = played.midi == note.midi and abs(played.onset_s - note.onset_s) <= PAIR_S
            if same and played.step.string is not None:
                yield note, played.step.string
                break


def _banks(folder: Path) -> Iterator[tuple[str, list[dict[str, str]]]]:
    with (folder / "manifest.tsv").open(encoding="utf-8") as lines:
        rows = [row for row in csv.DictReader(lines, delimiter="\t") if row["string"]]
    guitars = sorted({Path(row["file"]).stem.split("_")[-1] for row in rows})
    for guitar in guitars:
        yield guitar, [row for row in rows if Path(row["file"]).stem.endswith(guitar)]


def _count_bank(folder: Path, rows: list[dict[str, str]]) -> str:
    readings = [_read_one(folder, row) for row in rows]
    midi, strings = [int(row["midi"]) for row in rows], [int(row["string"]) for row in rows]
    together = explanations(readings, midi, OPEN_MIDI, frets=22)[0].weights
    alone = [
        explanations([ways], [pitch], OPEN_MIDI, frets=22)[0].weights[0] if ways else None
        for ways, pitch in zip(readings, midi, strict=True)
    ]
    read = sum(bool(ways) for ways in readings)
    right = [
        sum(told is not None and int(np.argmax(told)) + 1 == string for told, string in zip(way, strings, strict=True))
        for way in (alone, together)
    ]
    return f"{len(rows):7}{read:7}{right[0] / read:12.3f}{right[1] / read:18.3f}"


def _read_one(folder: Path, row: dict[str, str]) -> tuple[StretchReading, ...]:
    recording = read_recording(folder / row["file"])
    first = int(0.07 * recording.rate_hz)
    sound = recording.samples[first : first + int(0.18 * recording.rate_hz)]
    pitch_hz = 440.0 * 2 ** ((int(row["midi"]) - 69 + float(row["measured_cents"] or 0) / 100) / 12)
    return read_string_stretch(sound, recording.rate_hz, np.full(sound.size, pitch_hz))


if __name__ == "__main__":
    main()
