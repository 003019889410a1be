"""The key of a lick."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from transcribe.errors import SettingsError

Mode = Literal["major", "minor"]

# Sharps (above 0) or flats of each major key; a minor key has three fewer sharps. Circle of fifths, common practice.
MAJOR_FIFTHS = {
    "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5, "F#": 6, "C#": 7,
    "F": -1, "Bb": -2, "Eb": -3, "Ab": -4, "Db": -5, "Gb": -6, "Cb": -7,
}  # fmt: skip
MINOR_FIFTHS = {
    "A": 0, "E": 1, "B": 2, "F#": 3, "C#": 4, "G#": 5, "D#": 6, "A#": 7,
    "D": -1, "G": -2, "C": -3, "F": -4, "Bb": -5, "Eb": -6, "Ab": -7,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Key:
    """A tonic and a mode, as ``A`` ``major``, and how it is known."""

    tonic: str
    mode: Mode
    confidence: float | None = None
    source: Literal["given", "estimated"] = "given"
    unknown: Mapping[str, Any] = field(default_factory=dict)
    runner_up: str | None = None  # the next likeliest key of an estimate, as "C major"

    def __post_init__(self) -> None:
        if self.tonic not in (MAJOR_FIFTHS if self.mode == "major" else MINOR_FIFTHS):
            raise SettingsError(
                f"no such key: {self.tonic} {self.mode}", "Give a key that has a signature, such as A, F# minor or Bb."
            )

    @property
    def fifths(self) -> int:
        """Sharps in the key signature above 0, flats below (MusicXML 4.0, fifths)."""
        return (MAJOR_FIFTHS if self.mode == "major" else MINOR_FIFTHS)[self.tonic]


def key_from_text(text: str) -> Key:
    """Return the key written as ``A``, ``A major``, ``F# minor`` or ``Bbm``.

    Raises SettingsError with how to write it.

    >>> key_from_text("F#m").fifths
    3
    """
    match = re.fullmatch(
        r"\s*([A-Ga-g])\s*(#|b|♯|♭|sharp|flat)?[\s-]*(major|maj|minor|min|m)?\s*", text, flags=re.IGNORECASE
    )
    if not match:
        raise SettingsError(f"no such key: {text!r}", "Write a note and a mode, such as A, 'F# minor' or Bb.")
    letter, sign, mode = match.groups()
    accidental = {None: "", "#": "#", "♯": "#", "sharp": "#", "b": "b", "♭": "b", "flat": "b"}[sign and sign.lower()]
    minor = mode is not None and (mode == "m" or mode.lower() in ("minor", "min"))
    return Key(letter.upper() + accidental, "minor" if minor else "major")
