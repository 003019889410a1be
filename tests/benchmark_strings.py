"""Measure the string clue: ``python -m tests.benchmark_strings [--bank DIR]``.

Protocol: every lick of fixtures/licks is played on guitars of the string model (clean, driven, acoustic; none of the
sampled guitars carries a string in its sound), as recorded, and as a telephone in a noisy room would keep it (300 to
3400 Hz, the speech band of ITU-T G.712, white noise 30 dB below). It is drafted with the tuning, the capo and nothing
else told; a drafted note counts when it pairs with one played (50 ms, same semitone). "steel-acoustic" is held out.
First come single notes by the sound alone: every string and fret of the string model's electric guitars, whose strings
are drawn anew for each of several guitars (a set of another gauge, cores of another maker, other pick and pickup), each
note judged by itself, and with the guitar's others but no hand, as if no amplifier distorted. Then two strings, triads
and oblique bends among the notes as played, on held-out guitars, by condition: what is read there and how often the
likeliest string is right.
``--bank`` adds recorded single notes: a folder whose manifest.tsv has columns file, midi, measured_cents, string, fret.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fingering.fretboard import Fretboard
from fixtures.licks import LICKS
from fixtures.render import seed_of
from tests.voice_material import CONDITIONS, STYLES, Condition, Style, recorded, takes
from transcribe.audio.read import read_recording
from transcribe.audio.recording import Recording
from transcribe.errors import TakesheetError
from transcribe.evidence.crepe import crepe_evidence
from transcribe.evidence.string_sets import Explanation, explanations
from transcribe.evidence.string_stretch import StretchReading, read_string_stretch
from transcribe.notes.hear import hear_notes
from transcribe.notes.note import Note
from transcribe.notes.string_clue import string_readings
from transcribe.settings import Settings
from transcribe.stringing import string_and_place
from transcribe.training.guitars import ELECTRIC_STRETCH, GUITARS, Guitar
from transcribe.training.lick import Lick, Step
from transcribe.training.perform import Performance, perform
from transcribe.training.render import render

RATE_HZ = 22050
PAIR_S = 0.05
PHONE_HZ = (300.0, 3400.0)
PHONE_NOISE_DB = -30.0
NECKS = 4  # guitars drawn anew
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
    print("single notes, sound alone  notes   read   right by itself   right within the guitar")
    for condition in CONDITIONS:
        print(f"{condition:24}{_count_neck(condition)}")
    print("\nstrings together, as played   notes   read   likeliest string right   with the hand   hand alone")
    for guitar in ("bright-electric", "steel-acoustic") if chosen.guitar is None else (chosen.guitar,):
        for style, condition in product(STYLES, CONDITIONS):
            print(f"{f'{guitar}, {style}, {condition}':34}{_count_together(guitar, style, condition)}")
    print(
        "\nwhole licks            notes  same string: hand alone  with the sound   notes read  likeliest string right"
    )
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


def _count_neck(condition: Condition) -> str:
    """Every string and fret of several guitars drawn anew: single notes, by the sound alone."""
    notes = read = alone_right = together_right = 0
    for number in range(NECKS):
        guitar = _drawn(number)
        rows = [(string, fret) for string in range(1, 7) for fret in range(0, 23)]
        midi = [OPEN_MIDI[string - 1] + fret for string, fret in rows]
        readings = [_one_reading(guitar, string, fret, number, condition) for string, fret in rows]
        together = explanations(readings, midi, OPEN_MIDI, frets=22, tempered=False)[0].weights
        for (string, _), pitch, ways, told in zip(rows, midi, readings, together, strict=True):
            notes += 1
            if not ways or told is None:
                continue
            read += 1
            alone = explanations([ways], [pitch], OPEN_MIDI, frets=22, tempered=False)[0].weights[0]
            alone_right += alone is not None and int(np.argmax(alone)) + 1 == string
            together_right += int(np.argmax(told)) + 1 == string
    return f"{notes:7}{read / notes:8.2f}{alone_right / max(read, 1):15.3f}{together_right / max(read, 1):22.3f}"


def _drawn(number: int) -> Guitar:
    """A guitar of the string model with strings, pick and pickup of its own."""
    random = np.random.default_rng([number, 23])
    gauge, cores = random.normal(0, 0.15), random.normal(0, 0.2)
    own = random.normal(0, 0.06, 6) + gauge + cores * np.array([0, 0, 0, 1, 1, 1])
    return replace(
        GUITARS["bright-electric"],
        stretch=tuple(float(b * np.exp(by)) for b, by in zip(ELECTRIC_STRETCH, own, strict=True)),
        pick_mm=float(random.uniform(70, 140)),
        pickup_mm=float(random.uniform(40, 150)),
    )


def _one_reading(
    guitar: Guitar, string: int, fret: int, number: int, condition: Condition
) -> tuple[StretchReading, ...]:
    lick = Lick(f"neck-{number}", (Step(Fraction(2), string, fret, finger=int(fret > 0)),), tempo_bpm=100.0)
    performance = perform(lick)
    played = performance.notes[0]
    sound = render(performance, guitar, rate_hz=RATE_HZ, seed=100 * number + 23 * string + fret)
    recording = Recording(recorded(sound, condition, seed=number), RATE_HZ)
    note = Note("n1", played.onset_s, played.offset_s, played.midi)
    return string_readings(recording, (note,))[0]


def _count_together(guitar: str, style: Style, condition: Condition) -> str:
    """Licks with their notes told: what the sound says of strings that sound with others."""
    count = Count()
    for take in takes("judging", None, styles=(style,), conditions=(condition,), guitars=(guitar,)):
        instrument = take.reference.instrument
        board = Fretboard(open_midi=instrument.open_strings_midi, frets=instrument.frets, capo=instrument.capo)
        offset = instrument.tuning_offset_cents or 0.0
        found = _explained(take.recording, take.notes, board, offset)
        alone = string_and_place(take.notes, (), board, profile="lead line").fingering
        both = string_and_place(take.notes, found, board, profile="lead line")
        weights = {note.id: note.string_weights for note in both.notes}
        strings = {each.note.id: each.placement.string for each in take.reference.notes if each.placement is not None}
        for note in take.notes:
            string = strings.get(note.id)
            told = weights[note.id]
            count.notes += 1
            count.without += getattr(alone.placement(note.id), "string", None) == string
            count.with_clue += getattr(both.fingering.placement(note.id), "string", None) == string
            count.read += told is not None
            count.clue_right += told is not None and int(np.argmax(told)) + 1 == string
    notes = max(count.notes, 1)
    return (
        f"{count.notes:6}{count.read / notes:8.2f}{count.clue_right / max(count.read, 1):18.3f}"
        f"{count.with_clue / notes:20.3f}{count.without / notes:13.3f}"
    )


def _explained(
    recording: Recording, notes: Sequence[Note], board: Fretboard, tuning_cents: float
) -> tuple[Explanation, ...]:
    readings = string_readings(recording, notes, tuning_semitones=tuning_cents / 100)
    return explanations(readings, [note.midi for note in notes], board.open_midi, frets=board.frets, capo=board.capo)


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
    found = _explained(recording, heard.notes, board, heard.tuning_offset_cents)
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
    together = explanations(readings, midi, OPEN_MIDI, frets=22, tempered=False)[0].weights
    alone = [
        explanations([ways], [pitch], OPEN_MIDI, frets=22, tempered=False)[0].weights[0] if ways else None
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
