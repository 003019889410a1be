"""Takes with their truth, heard by both paths, to rows of grounds: right or wrong."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.errors import ReadError, TakesheetError
from transcribe.evaluate.matching import match_notes
from transcribe.evidence.crepe import crepe_evidence
from transcribe.evidence.network import voice_maps
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.hear import Heard, hear_notes
from transcribe.notes.hear_voices import hear_voices, sounds_together
from transcribe.notes.note import Note
from transcribe.notes.surer import better
from transcribe.notes.voices import find_voices
from transcribe.notes.weigh import heard_voices
from transcribe.settings import Settings
from transcribe.training.note_bank import PALM_GUITAR, RATE_HZ, Bank
from transcribe.training.strokes import TICK

SOUNDS = (".flac", ".wav")
SEED = 3_000_003  # of made clips; training counts its seeds from 1, evaluation and beginnings have their own
CLIPS_AT_ONCE = 4
GROUPS = 5  # made clips count as so many guitars where one is left out


@dataclass(frozen=True, slots=True)
class Row:
    """One note that was heard: by which path, what speaks for it, and whether it was played."""

    take: str
    guitar: str
    path: str  # "line" or "several"
    grounds: Mapping[str, float]
    right: bool
    attack_right: bool
    marked: bool  # a doubt names it


@dataclass(frozen=True, slots=True)
class Truth:
    """A take's name, its guitar (takes of one are kept together when learning is tested), and what was played."""

    name: str
    guitar: str
    notes: tuple[Note, ...]


def keep_all(settings: Settings) -> Settings:
    """Return the settings with which no note is left out for being unsure: learning needs the wrong ones."""
    every = replace(settings.notes, least_confidence=0.0, least_confidence_of_several=0.0)
    return replace(settings, notes=every)


def heard_as_drafted(recording: Recording, maps: VoiceMaps | None = None) -> tuple[str, Heard]:
    """Return the path a draft would take, "line" or "several", and what it hears."""
    ways = heard_by_each_path(recording, maps)
    if len(ways) == 1:
        return next(iter(ways.items()))
    best = better(ways["line"], ways["several"])
    return ("several" if best is ways["several"] else "line"), best


def heard_by_each_path(
    recording: Recording, maps: VoiceMaps | None = None, settings: Settings | None = None
) -> dict[str, Heard]:
    """Return what the paths hear that a draft would look at: several voices, or a line, and both where it is unsure."""
    settings = settings or Settings()
    maps = maps or voice_maps(recording, threads=1)
    voices = find_voices(maps)
    if sounds_together(voices):
        return {"several": hear_voices(recording, maps, settings)}
    evidence = crepe_evidence(recording, settings.evidence)
    line = hear_notes(recording, evidence, settings, second=heard_voices(maps, voices))
    return {"line": line, "several": hear_voices(recording, maps, settings)}


def rows_of(truth: Truth, path: str, heard: Heard) -> list[Row]:
    """Return a row for each note heard; dead notes have no pitch and are left out."""
    notes = [note for note in heard.notes if note.id in heard.grounds and note.mute != "dead"]
    pairs = {there: here for here, there in match_notes(truth.notes, notes)}
    marked = {doubt.note for doubt in heard.doubts}
    return [
        Row(
            truth.name,
            truth.guitar,
            path,
            heard.grounds[note.id],
            k in pairs,
            k in pairs and _attack(truth.notes[pairs[k]]) == _attack(note),
            note.id in marked,
        )
        for k, note in enumerate(notes)
    ]


def _attack(note: Note) -> str:
    return "legato" if note.attack in ("hammer-on", "pull-off", "slide") else "picked"


def takes_in(folders: Sequence[Path]) -> Iterator[tuple[Path, Truth]]:
    """Yield the sounds of folders that have a truth beside them, and the truth.

    ``NAME.flac`` or ``NAME.wav`` goes with ``NAME.take.json``, a take document, or ``NAME.notes.tsv``, a table with the
    columns onset_s and midi and perhaps attack. What stands after the first full stop of NAME names its guitar.
    """
    for sound in (each for folder in folders for each in sorted(folder.iterdir()) if each.suffix in SOUNDS):
        notes = _truth(sound)
        if notes is not None:
            yield sound, Truth(sound.stem, sound.stem.partition(".")[2] or sound.parent.name, notes)


def _truth(sound: Path) -> tuple[Note, ...] | None:
    document, table = sound.with_suffix(".take.json"), sound.with_suffix(".notes.tsv")
    if document.is_file():
        from transcribe.document.read import read_document

        return tuple(take.note for take in read_document(document).notes if take.note.mute != "dead")
    if not table.is_file():
        return None
    try:
        lines = (line for line in table.read_text(encoding="utf-8").splitlines() if not line.startswith("#"))
        return tuple(_listed(k, row) for k, row in enumerate(csv.DictReader(lines, delimiter="\t")))
    except (KeyError, ValueError, TakesheetError) as error:
        raise ReadError(f"{table} has no onset_s and midi in each row", "Write them with tabs between.") from error


def _listed(number: int, row: Mapping[str, str]) -> Note:
    at_s = float(row["onset_s"])
    legato = row.get("attack") in ("legato", "hammer-on", "pull-off", "slide")
    return Note(f"r{number}", at_s, at_s + 0.1, round(float(row["midi"])), attack="hammer-on" if legato else "picked")


def made_takes(bank: Bank, *, clips: int, held_out: bool) -> Iterator[tuple[Truth, Recording]]:
    """Yield clips of made playing in random scenes, half of them on the string model, with their truth.

    ``held_out`` plays the guitars that nothing is trained on, with seeds of their own. Needs keras.
    """
    from transcribe.training.rehearsal import Players, batch_of, guitars_of, hearing

    guitars = guitars_of(bank, held_out=held_out)
    players = Players(bank.zones((*guitars, PALM_GUITAR)), guitars)
    hear = hearing(bank.samples, modal_clips=CLIPS_AT_ONCE // 2, with_sound=True)
    for number in range(-(-clips // CLIPS_AT_ONCE)):
        seed = SEED + int(held_out)
        batch = batch_of(players, seed, number, clips=CLIPS_AT_ONCE, modal_clips=CLIPS_AT_ONCE // 2)
        sound = np.asarray(hear(batch)[2])
        for k in range(CLIPS_AT_ONCE):
            played = [event for event in batch["events"][k] if event[0] >= 0]
            rows = [
                {"onset_s": str(event[0] * TICK / RATE_HZ), "midi": str(event[1]), "attack": "legato" * bool(event[2])}
                for event in played
            ]
            notes = tuple(_listed(j, row) for j, row in enumerate(rows))
            name = f"made-{number}-{k}"
            yield Truth(name, f"made {number % GROUPS}", notes), Recording(sound[k], RATE_HZ)
