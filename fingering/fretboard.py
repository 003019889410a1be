"""Tunings, Fretboard, Position: where a pitch can be played, and how far frets are from one another."""

from __future__ import annotations

import re
from dataclasses import dataclass

from fingering.errors import TuningError

STANDARD_OPEN_MIDI = (64, 59, 55, 50, 45, 40)  # E4 B3 G3 D3 A2 E2, string 1 first

FIRST_WOUND_STRING = 4  # strings 4 to 6 are wound on electric and most acoustic guitars: common practice

# Semitones a natural harmonic sounds above the open string -> frets under which its node lies.
# Nodes divide the string in 2, 3, 4 and 5 equal parts (overtone series); the fret is the nearest one.
HARMONIC_NODES = {12: (12,), 19: (7, 19), 24: (5, 24), 28: (4, 9, 16)}


@dataclass(frozen=True, slots=True)
class Position:
    """One place on the neck."""

    string: int  # 1 is the highest-pitched string (MusicXML 4.0, string-number)
    fret: int  # from the nut, or from the capo when there is one; 0 is open


@dataclass(frozen=True, slots=True)
class Fretboard:
    """A strung neck: open pitches, frets, capo and scale length."""

    open_midi: tuple[int, ...] = STANDARD_OPEN_MIDI  # string 1 first, without the capo
    frets: int = 22  # counted from the nut
    capo: int = 0
    scale_length_mm: float = 648.0

    def __post_init__(self) -> None:
        if not self.open_midi:
            raise TuningError("a fretboard needs at least one string", "Give the open strings from high to low.")
        if not 1 <= self.frets <= 36:
            raise TuningError(f"a neck of {self.frets} frets cannot be played", "Give a number of frets from 1 to 36.")
        if not 0 <= self.capo < self.frets:
            raise TuningError(
                f"a capo at fret {self.capo} does not fit a neck of {self.frets} frets",
                f"Give a capo from 0 to {self.frets - 1}.",
            )
        if not 200 <= self.scale_length_mm <= 1200:
            raise TuningError(
                f"a scale length of {self.scale_length_mm} mm is no guitar's",
                "Give it in millimetres: 648 and 628 are usual, 650 on classical guitars.",
            )

    @property
    def last_fret(self) -> int:
        """The highest fret, counted from the capo."""
        return self.frets - self.capo

    def midi_at(self, string: int, fret: int) -> int:
        """Return the MIDI number that sounds at ``fret`` (from the capo) of ``string``.

        >>> Fretboard(capo=2).midi_at(1, 3)
        69
        """
        return self.open_midi[string - 1] + self.capo + fret

    def fret_for(self, string: int, midi: int) -> int | None:
        """Return the fret (from the capo) where ``midi`` lies on ``string``; None when it is not on it."""
        fret = midi - self.open_midi[string - 1] - self.capo
        return fret if 0 <= fret <= self.last_fret else None

    def places(self, midi: int) -> tuple[Position, ...]:
        """Return every place where ``midi`` can be played, highest string first.

        >>> [(place.string, place.fret) for place in Fretboard().places(64)]
        [(1, 0), (2, 5), (3, 9), (4, 14), (5, 19)]
        """
        found = ((string, self.fret_for(string, midi)) for string in range(1, len(self.open_midi) + 1))
        return tuple(Position(string, fret) for string, fret in found if fret is not None)

    def harmonic_places(self, midi: int) -> tuple[Position, ...]:
        """Return where a natural harmonic sounding ``midi`` has its node under a fret."""
        found = []
        for string in range(1, len(self.open_midi) + 1):
            for fret in HARMONIC_NODES.get(midi - self.open_midi[string - 1] - self.capo, ()):
                if fret <= self.last_fret:
                    found.append(Position(string, fret))
        return tuple(found)

    def nut_to_fret_mm(self, fret: int) -> float:
        """Return the distance from the nut to ``fret`` (from the capo), in millimetres.

        Equal temperament: d(n) = L (1 - 2^(-n/12)), so each fret takes 1/17.817 of what is left of the string.

        >>> Fretboard().nut_to_fret_mm(12)
        324.0
        """
        return self.scale_length_mm * (1.0 - 2.0 ** (-(fret + self.capo) / 12.0))

    def frets_apart_mm(self, low_fret: int, high_fret: int) -> float:
        """Return how far two frets (from the capo) are from one another along the neck, in millimetres."""
        return abs(self.nut_to_fret_mm(high_fret) - self.nut_to_fret_mm(low_fret))


# Low to high, as guitarists say them. Common practice.
NAMED_TUNINGS = {
    "standard": "E A D G B E",
    "drop D": "D A D G B E",
    "drop C": "C G C F A D",
    "double drop D": "D A D G B D",
    "open G": "D G D G B D",
    "open D": "D A D F# A D",
    "open E": "E B E G# B E",
    "open A": "E A E A C# E",
    "open C": "C G C G C E",
    "DADGAD": "D A D G A D",
    "half a step down": "Eb Ab Db Gb Bb Eb",
    "a whole step down": "D G C F A D",
}
_OTHER_NAMES = {
    "half step down": "half a step down",
    "whole step down": "a whole step down",
    "a step down": "a whole step down",
    "dropped d": "drop D",
    "eb": "half a step down",
}
_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NOTE = re.compile(r"([A-Ga-g])([#♯b♭]?)(-?\d)?")
_ALL_NOTES = re.compile(f"(?:{_NOTE.pattern})+")
_MEND = "Give a name ({names}) or the open strings from low to high, such as 'E A D G B E' or 'D2 A2 D3 G3 B3 E4'."


def tuning_from_text(text: str) -> tuple[int, ...]:
    """Return the open strings as MIDI numbers, string 1 (highest) first.

    ``text`` is a name ("drop D") or the notes from low to high, octaves optional ("E2 A2 D3 G3 B3 E4" or "EADGBE").
    Without octaves each string gets the octave that brings it nearest to the standard one.

    Raises TuningError when the text is neither.

    >>> tuning_from_text("drop D")
    (64, 59, 55, 50, 45, 38)
    """
    wanted = " ".join(text.replace("-", " ").split()).lower()
    by_lower = {name.lower(): notes for name, notes in NAMED_TUNINGS.items()}
    notes = by_lower.get(_OTHER_NAMES.get(wanted, wanted).lower(), text)
    low_to_high = _read_notes(notes)
    if low_to_high is None:
        mend = _MEND.format(names=", ".join(NAMED_TUNINGS))
        raise TuningError(f"the tuning '{text}' is not one I know", mend)
    return tuple(reversed(low_to_high))


def tuning_name(open_midi: tuple[int, ...]) -> str:
    """Return the tuning's name, or its notes from low to high when it has none.

    >>> tuning_name((64, 59, 55, 50, 45, 38))
    'drop D'
    """
    for name in NAMED_TUNINGS:
        if tuning_from_text(name) == tuple(open_midi):
            return name
    letters = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
    return " ".join(f"{letters[midi % 12]}{midi // 12 - 1}" for midi in reversed(open_midi))


def _read_notes(text: str) -> list[int] | None:
    words = re.sub(r"[,\-–|/]+", " ", text).split()
    if len(words) == 1:  # written together: a small b after a letter is a flat sign
        words = [match.group(0) for match in _NOTE.finditer(words[0])] if _ALL_NOTES.fullmatch(words[0]) else words
    found = [match for word in words if (match := _NOTE.fullmatch(word))]
    if len(found) != len(words) or not 4 <= len(found) <= 8:
        return None
    if len(found) != len(STANDARD_OPEN_MIDI) and not all(match.group(3) for match in found):
        return None  # without octaves only six strings say which octave is meant
    usual = tuple(reversed(STANDARD_OPEN_MIDI))
    midis = []
    for index, match in enumerate(found):
        letter, sign, octave = match.groups()
        step = _SEMITONES[letter.upper()] + {"#": 1, "♯": 1, "b": -1, "♭": -1}.get(sign, 0)
        if octave is not None:
            midis.append(12 * (int(octave) + 1) + step)
        else:
            near = usual[index]
            midis.append(near + (step - near + 6) % 12 - 6)
    return midis if all(0 <= midi <= 127 for midi in midis) else None
