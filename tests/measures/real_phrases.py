"""Score drafts of real phrases against hand-made references, a folder of flac and tab-separated tables.

``NAME.flac`` has ``NAME.notes.tsv`` (onset_s, offset_s, midi, confidence, ...) and may have ``NAME.ignore.tsv``
(start_s, end_s, midi or empty): spans, or one pitch in a span, where nothing can be said. Rows of confidence ``guess``
are not scored. Notes pair within 50 ms and the same semitone; a drafted note that pairs with nothing is not held
against the draft inside an ignore span or within 60 ms of a guess of its pitch. Dead notes are no pitches.
"""

from __future__ import annotations

import csv
from pathlib import Path

from transcribe.choices import TakeChoices
from transcribe.errors import TakesheetError
from transcribe.evaluate.matching import match_notes
from transcribe.evaluate.scores import Found
from transcribe.notes.note import Note
from transcribe.pipeline import draft_take

MARGIN_S, GUESS_S = 0.03, 0.06


def score_folder(folder: Path) -> dict[str, Found]:
    """Return notes found by phrase name; a phrase that cannot be drafted at all counts as nothing written."""
    scores = {}
    for table in sorted(folder.glob("*.notes.tsv")):
        name = table.name.removesuffix(".notes.tsv")
        try:
            document = draft_take(folder / f"{name}.flac", TakeChoices(accept_clipping=True))
            heard = [take.note for take in document.notes if take.note.mute != "dead"]
        except TakesheetError:
            heard = []
        scores[name] = score_phrase(_rows(table), _rows(folder / f"{name}.ignore.tsv"), heard)
    return scores


def score_phrase(rows: list[dict[str, str]], ignored: list[dict[str, str]], heard: list[Note]) -> Found:
    """Return the notes found in one phrase."""
    notes = [(_note(index, row), row["confidence"] == "guess") for index, row in enumerate(rows)]
    wanted = [note for note, guess in notes if not guess]
    guesses = [note for note, guess in notes if guess]
    pairs = match_notes(wanted, heard)
    paired = {there for _, there in pairs}
    free = sum(
        index not in paired and (_is_ignored(note, ignored) or _is_guess(note, guesses))
        for index, note in enumerate(heard)
    )
    return Found(len(pairs), len(wanted), len(heard) - free)


def _rows(table: Path) -> list[dict[str, str]]:
    if not table.exists():
        return []
    lines = (line for line in table.read_text(encoding="utf-8").splitlines() if not line.startswith("#"))
    return list(csv.DictReader(lines, delimiter="\t"))


def _note(index: int, row: dict[str, str]) -> Note:
    onset_s = float(row["onset_s"])
    return Note(f"r{index}", onset_s, max(float(row["offset_s"]), onset_s + 0.01), int(row["midi"]))


def _is_ignored(note: Note, ignored: list[dict[str, str]]) -> bool:
    return any(
        float(span["start_s"]) - MARGIN_S <= note.onset_s <= float(span["end_s"]) + MARGIN_S
        and (not span.get("midi") or int(span["midi"]) == note.midi)
        for span in ignored
    )


def _is_guess(note: Note, guesses: list[Note]) -> bool:
    return any(abs(guess.onset_s - note.onset_s) < GUESS_S and guess.midi == note.midi for guess in guesses)
