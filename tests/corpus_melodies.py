"""Folk melodies with stated keys, from the corpus of music21 (extra ``benchmark``), as plain values.

Kept: tunes of one part in O'Neill's Music of Ireland, Ryan's Mammoth Collection, Aird's Airs, the folder of mixed folk
tunes, and (for the tonic alone: the files give every key as if it were major) the Essen folk song collection.
Reading them takes minutes, so they are stored in a file once.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

FOLDERS = ("oneills1850", "ryansMammoth", "airdsAirs", "miscFolk", "essenFolksong")
TONIC_ALONE = "essenFolksong"
PER_FOLDER = 700  # the first by hash of the text
MINOR_THIRD = ("minor", "dorian", "phrygian", "aeolian")
KEY_LINE = re.compile(r"^K:[ \t]*([A-G])([#b]?)[ \t]*([A-Za-z]*)", re.MULTILINE)
MODES = {"": "major", "maj": "major", "m": "minor", "min": "minor", "dor": "dorian", "mix": "mixolydian",
         "phr": "phrygian", "lyd": "lydian", "aeo": "aeolian"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Melody:
    """A tune: (start, length) in quarters from the first full bar, MIDI pitch; and the key its source states."""

    name: str
    tonic: str
    mode: str  # major, minor, dorian, mixolydian ...; "" where the source tells none
    bar_quarters: Fraction
    notes: tuple[tuple[Fraction, Fraction, int], ...]

    @property
    def held_out(self) -> bool:
        """Whether the tune is only measured, never tuned on."""
        return hashlib.sha256(self.name.encode()).digest()[0] % 2 == 1

    @property
    def is_minor(self) -> bool:
        """Whether the third above the tonic is minor."""
        return self.mode in MINOR_THIRD


def read_melodies(path: Path) -> tuple[Melody, ...]:
    """Return the melodies of a file that ``write_melodies`` made."""
    return tuple(
        Melody(
            raw["name"],
            raw["tonic"],
            raw["mode"],
            Fraction(raw["bar"]),
            tuple((Fraction(start), Fraction(length), midi) for start, length, midi in raw["notes"]),
        )
        for raw in json.loads(path.read_text(encoding="utf-8"))
    )


def write_melodies(path: Path) -> None:
    """Read the corpus and store its melodies."""
    path.write_text(json.dumps(list(_melodies())), encoding="utf-8")


def _melodies() -> Iterator[dict[str, Any]]:
    import music21

    base = Path(music21.__file__).parent / "corpus"
    for folder in FOLDERS:
        texts = {}
        for path in sorted((base / folder).glob("*.abc")):
            for number, text in enumerate(re.split(r"(?m)^(?=X:)", path.read_text(encoding="latin-1"))):
                if text.startswith("X:") and len(KEY_LINE.findall(text)) == 1:
                    texts[f"{folder}/{path.stem}/{number}"] = text
        chosen = sorted(texts, key=lambda name: hashlib.sha256(texts[name].encode()).hexdigest())[:PER_FOLDER]
        for name in chosen:
            told = _melody(texts[name], folder)
            if told is not None:
                yield {"name": name, **told}


def _melody(text: str, folder: str) -> dict[str, Any] | None:
    import music21

    match = KEY_LINE.search(text)
    mode = MODES.get(match[3][:3].lower()) if match else None
    if match is None or mode is None:
        return None
    try:
        score = music21.converter.parseData(text, format="abc")
    except Exception:  # a tune that the library cannot read says nothing about us
        return None
    part = score.parts[0] if score.parts else score
    bars = list(part.getElementsByClass("Measure"))
    meter = part.recurse().getElementsByClass("TimeSignature").first()
    notes = list(part.flatten().stripTies().notes)
    if not bars or meter is None or len(notes) < 12 or any(note.isChord for note in notes):
        return None
    full = Fraction(meter.barDuration.quarterLength)
    first = Fraction(bars[0].duration.quarterLength)
    moved = first if first < full else Fraction(0)
    return {
        "tonic": match[1] + match[2],
        "mode": "" if folder == TONIC_ALONE else mode,
        "bar": str(full),
        "notes": [
            [str(Fraction(note.offset) - moved), str(Fraction(note.quarterLength)), note.pitch.midi]
            for note in notes
            if not note.duration.isGrace
        ],
    }
