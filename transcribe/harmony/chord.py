"""Chord: a root and a kind, as chord symbols name them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from transcribe.errors import SettingsError
from transcribe.harmony.names import fifths_of, name_at, pitch_class, readable

# Kind, as written after the root -> its tones as steps along the line of fifths from the root, root first, then by
# size. A major third is 4 steps, a fifth 1, a minor seventh -2. Common practice; the kinds of triads and sevenths as in
# E. Prout, "Harmony: its Theory and Practice" (1889), chapters 3, 8 and 14.
KINDS: dict[str, tuple[int, ...]] = {
    "": (0, 4, 1),
    "m": (0, -3, 1),
    "dim": (0, -3, -6),
    "aug": (0, 4, 8),
    "5": (0, 1),
    "7": (0, 4, 1, -2),
    "maj7": (0, 4, 1, 5),
    "m7": (0, -3, 1, -2),
    "m7b5": (0, -3, -6, -2),
    "dim7": (0, -3, -6, -9),
    "m(maj7)": (0, -3, 1, 5),
    "6": (0, 4, 1, 3),
    "m6": (0, -3, 1, 3),
    "sus2": (0, 2, 1),
    "sus4": (0, -1, 1),
    "7sus4": (0, -1, 1, -2),
    "aug7": (0, 4, 8, -2),
    "add9": (0, 4, 1, 2),
    "m(add9)": (0, -3, 1, 2),
    "9": (0, 4, 1, -2, 2),
    "maj9": (0, 4, 1, 5, 2),
    "m9": (0, -3, 1, -2, 2),
    "7b9": (0, 4, 1, -2, -5),
    "7#9": (0, 4, 1, -2, 9),
    "7b5": (0, 4, -6, -2),
    "11": (0, 4, 1, -2, 2, -1),
    "13": (0, 4, 1, -2, 2, 3),
}
# Other ways of writing the same kinds (common practice).
_SAME = {
    "M": "", "maj": "", "min": "m", "-": "m", "o": "dim", "°": "dim", "+": "aug", "M7": "maj7", "Maj7": "maj7",
    "ma7": "maj7", "min7": "m7", "-7": "m7", "mi7": "m7", "ø": "m7b5", "ø7": "m7b5", "-7b5": "m7b5", "min7b5": "m7b5",
    "o7": "dim7", "°7": "dim7", "mM7": "m(maj7)", "mmaj7": "m(maj7)", "sus": "sus4", "7sus": "7sus4", "+7": "aug7",
    "7#5": "aug7", "maj6": "6", "min6": "m6", "dom7": "7", "M9": "maj9", "min9": "m9", "madd9": "m(add9)",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord by name. ``root`` and ``bass`` are note names such as "F#"; the bass is the root unless told."""

    root: str
    kind: str = ""
    bass: str | None = None

    def __post_init__(self) -> None:
        fifths_of(self.root)
        if self.bass is not None:
            fifths_of(self.bass)
        if self.kind not in KINDS:
            raise SettingsError(f"no such kind of chord: {self.kind!r}", "Write a chord such as G, Am, D7 or Cmaj7.")

    @property
    def symbol(self) -> str:
        """Root and kind, without the bass: ``D7``."""
        return self.root + self.kind

    def __str__(self) -> str:
        return self.symbol if self.bass is None else f"{self.symbol}/{self.bass}"

    @property
    def steps(self) -> tuple[int, ...]:
        """Its tones as steps along the line of fifths from the root."""
        return KINDS[self.kind]

    @property
    def pitch_classes(self) -> tuple[int, ...]:
        """Its tones as pitch classes, root first."""
        return tuple(pitch_class(fifths_of(self.root) + step) for step in self.steps)

    @property
    def is_minor(self) -> bool:
        """True with a minor third and a perfect fifth."""
        return -3 in self.steps and 1 in self.steps

    @property
    def is_dominant(self) -> bool:
        """True with a major third and a minor seventh."""
        return 4 in self.steps and -2 in self.steps

    @property
    def inversion(self) -> int:
        """0 with the root in the bass, 1 with the third, 2 with the fifth, 3 with the seventh; -1 for another bass."""
        if self.bass is None:
            return 0
        step = fifths_of(self.bass) - fifths_of(self.root)
        return self.steps.index(step) if step in self.steps[:4] else -1

    def name_of(self, pitch: int) -> str | None:
        """Return the name of one of its tones by MIDI note number or pitch class; None for a pitch outside it."""
        root = fifths_of(self.root)
        return next((name_at(root + step) for step in self.steps if pitch_class(root + step) == pitch % 12), None)

    def transposed(self, fifths: int) -> Chord:
        """Return the chord moved along the line of fifths, spelled with single accidentals."""
        root = fifths_of(self.root) + fifths
        shift = readable(root) - root + fifths
        bass = None if self.bass is None else name_at(readable(fifths_of(self.bass) + shift))
        return Chord(name_at(readable(root)), self.kind, bass)


def chord_from_text(text: str) -> Chord:
    """Return the chord a symbol names. Raises SettingsError for one we do not know.

    >>> chord_from_text("F#m7/C#").inversion
    2
    """
    match = re.fullmatch(r"\s*([A-G])([#b♯♭]?)([^/\s]*?)(?:/([A-G])([#b♯♭]?))?\s*", text)
    if match:
        letter, sign, kind, bass, bass_sign = match.groups()
        plain = kind.replace("♭", "b").replace("♯", "#").replace("Δ", "maj7")
        found = plain if plain in KINDS else _SAME.get(plain)
        if found is not None:
            root = letter + _ascii(sign)
            low = None if bass is None else bass + _ascii(bass_sign)
            return Chord(root, found, None if low == root else low)
    raise SettingsError(f"no chord that is known here: {text!r}", "Write a chord such as G, Am, D7, Cmaj7 or G/B.")


def chord_or_none(text: str | None) -> Chord | None:
    """Return the chord a symbol names, and None for no symbol or one we do not know."""
    if text is None:
        return None
    try:
        return chord_from_text(text)
    except SettingsError:
        return None


def _ascii(sign: str) -> str:
    return sign.replace("♯", "#").replace("♭", "b")
