"""Measure the doubts: ``python -m tests.benchmark_doubts [--bank DIR] [--soundfont FILE] [--cache DIR]``.

Protocol: the takes of ``tests/voice_material.py`` that are for figures (licks and guitars that neither the network nor
the weighing of notes was trained on; the string model's acoustic without a bank), each heard as a draft hears it. A
note is wrong when it pairs with nothing that was played, within 50 ms and the semitone (mir_eval). Caught: wrong notes
that a doubt names. Marked: right notes that one names all the same. Doubts about attacks, bends and slides are counted
apart. The expected calibration error is that of C. Guo et al., ICML 2017, in 15 bins.

``--write DIR`` writes these takes and their truth for ``transcribe.training.calibrate``, those of ``--choosing`` to
learn from. ``--strange DIR`` also hears the sounds in a folder, one after another, as what is no guitar.
"""

from __future__ import annotations

import argparse
import wave
from collections import defaultdict
from pathlib import Path

import numpy as np

from tests.voice_material import Part, Take, bank_of, maps_of, takes
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.document.text import document_bytes
from transcribe.evaluate.scores import Caught, Found
from transcribe.evaluate.takes import score_takes
from transcribe.notes.hear import Heard
from transcribe.notes.strange_take import with_strange_told
from transcribe.settings import NoteSettings
from transcribe.training.fit_odds import reliability
from transcribe.training.weighed_takes import heard_as_drafted

NONE = Caught(0, 0, 0, 0)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark_doubts", description=__doc__.split("\n")[0])
    parser.add_argument("--bank", type=Path, action="append", default=[], metavar="DIR", help="recorded notes")
    parser.add_argument("--soundfont", type=Path, metavar="FILE", help="a General MIDI soundfont: more guitars")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep sounds and maps here")
    parser.add_argument("--choosing", action="store_true", help="the licks and guitars that were learned from")
    parser.add_argument("--write", type=Path, metavar="DIR", help="write takes and truth here instead of measuring")
    parser.add_argument("--strange", type=Path, metavar="DIR", help="hear what is no guitar, too")
    chosen = parser.parse_args()
    part: Part = "choosing" if chosen.choosing else "judging"
    material = takes(part, bank_of(tuple(chosen.bank), chosen.soundfont, cache=chosen.cache), cache=chosen.cache)
    if chosen.write is not None:
        chosen.write.mkdir(parents=True, exist_ok=True)
        for take in material:
            write_take(take, chosen.write)
        return
    table = Table()
    for take in material:
        path, heard = heard_as_drafted(take.recording, maps_of(take, cache=chosen.cache))
        table.add(take, path, heard)
    table.print()
    if chosen.strange is not None:
        from tests.measures.strange_takes import print_strange

        print_strange(chosen.strange)


class Table:
    """Sums over takes, by path and condition, and by guitar."""

    def __init__(self) -> None:
        self.rows: dict[str, dict[str, Caught]] = defaultdict(lambda: defaultdict(lambda: NONE))
        self.notes: dict[str, Found] = defaultdict(lambda: Found(0, 0, 0))
        self.told: dict[str, list[tuple[float, bool]]] = defaultdict(list)
        self.doubted_takes: list[str] = []

    def add(self, take: Take, path: str, heard: Heard) -> None:
        """Count one take."""
        heard = with_strange_told(take.recording, heard, NoteSettings())
        draft = document_of(heard)
        scores = score_takes(draft, take.reference)
        for group in (f"{path}, {take.condition}", take.guitar, f"{path}, all", "all"):
            self.notes[group] += scores.notes
            for what in ("note_doubts", "attack_doubts", "gesture_doubts"):
                self.rows[group][what] += getattr(scores, what)
        right = {there.note.id for there in draft.notes} - wrong_notes(draft, take.reference)
        self.told[path] += [(note.confidence, note.id in right) for note in heard.notes if note.confidence is not None]
        self.doubted_takes += [f"{take.name}: {doubt.why}" for doubt in heard.doubts if doubt.note is None]

    def print(self) -> None:
        """Print a line a group."""
        print(f"{'':22}{'onset F':>8}" + "".join(f"{what + ': caught':>20}{'marked':>9}" for what in WHAT.values()))
        for group in sorted(self.rows, key=lambda name: (name == "all", ", all" in name, ", " not in name, name)):
            cells = "".join(f"{_caught(each):>20}{_marked(each):>9}" for each in self.rows[group].values())
            print(f"{group:22}{self.notes[group].f or 0.0:8.3f}{cells}")
        for path, told in self.told.items():
            error = reliability([each for each, _ in told], [right for _, right in told]).error
            print(f"expected calibration error, {path}: {error:.4f} over {len(told)} notes")
        print(f"takes doubted as a whole: {len(self.doubted_takes)}")
        for line in self.doubted_takes:
            print(f"  {line}")


WHAT = {"note_doubts": "notes", "attack_doubts": "attacks", "gesture_doubts": "bends"}


def document_of(heard: Heard) -> TakeDocument:
    """Return a take document of notes and doubts alone."""
    return TakeDocument(
        instrument=Instrument(), notes=tuple(TakeNote(note) for note in heard.notes), doubts=heard.doubts
    )


def wrong_notes(draft: TakeDocument, reference: TakeDocument) -> set[str]:
    """Return ids of the draft's notes that pair with nothing."""
    from transcribe.evaluate.matching import match_notes

    heard = [take for take in draft.notes if take.note.mute != "dead"]
    played = [take.note for take in reference.notes if take.note.mute != "dead"]
    paired = {there for _, there in match_notes(played, [take.note for take in heard])}
    return {take.id for k, take in enumerate(heard) if k not in paired}


def write_take(take: Take, folder: Path) -> None:
    """Write one take as 16-bit sound, its truth beside it."""
    loud = np.round(np.clip(take.recording.samples, -1, 1) * 32767).astype("<i2")
    with wave.open(str(folder / f"{take.name}.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(int(take.recording.rate_hz))
        file.writeframes(loud.tobytes())
    (folder / f"{take.name}.take.json").write_bytes(document_bytes(take.reference))


def _caught(each: Caught) -> str:
    return "-" if each.caught_share is None else f"{each.caught} of {each.wrong} {each.caught_share:.0%}"


def _marked(each: Caught) -> str:
    return "-" if each.marked_share is None else f"{each.marked_share:.1%}"


if __name__ == "__main__":
    main()
