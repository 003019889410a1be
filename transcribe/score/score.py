"""Score, Bar, Event, WrittenValue: one voice or more of notation, ready for any writer."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from transcribe.document.model import Instrument, TakeNote
from transcribe.errors import ScoreError
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt
from transcribe.rhythm.rhythm import Meter

# Lengths in quarter notes of the undotted values, longest first, with their MusicXML 4.0 note-type-value names.
NOTE_TYPES: dict[str, Fraction] = {
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
}


@dataclass(frozen=True, slots=True)
class WrittenValue:
    """A note or rest shape: type, dots, and the tuplet it stands in."""

    type: str
    dots: int = 0
    tuplet: tuple[int, int] | None = None  # (3, 2): three in the time of two

    def __post_init__(self) -> None:
        if self.type not in NOTE_TYPES:
            raise ScoreError(f"no such note type: {self.type}")

    @property
    def quarters(self) -> Fraction:
        """Sounding length in quarter notes."""
        length = NOTE_TYPES[self.type] * (2 - Fraction(1, 2**self.dots))
        return length * Fraction(self.tuplet[1], self.tuplet[0]) if self.tuplet else length


@dataclass(frozen=True, slots=True)
class Spelled:
    """A named pitch as it sounds; notation writes guitars an octave higher under an octave-down clef."""

    step: str  # A to G
    alter: int  # -1 flat, 1 sharp
    octave: int  # 4 holds middle C


@dataclass(frozen=True, slots=True)
class ScoreNote:
    """One head: the take's note, how it is spelled, and its ties. A tied continuation shows no gesture again."""

    take: TakeNote
    spelled: Spelled
    tied_from: bool = False  # continues an earlier head
    tied_to: bool = False  # is continued by a later head


@dataclass(frozen=True, slots=True)
class Event:
    """Heads that start together, or a rest when there are none."""

    beat: Fraction  # offset in the bar, quarters
    value: WrittenValue
    notes: tuple[ScoreNote, ...] = ()  # highest first
    tuplet_starts: bool = False
    tuplet_stops: bool = False

    @property
    def is_rest(self) -> bool:
        """True when nothing is struck or tied here."""
        return not self.notes


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar; every voice fills it exactly."""

    number: int  # 0 is the pickup bar
    length: Fraction  # quarters; the pickup bar is short
    voices: tuple[tuple[Event, ...], ...]

    def __post_init__(self) -> None:
        for voice in self.voices:
            filled = sum((event.value.quarters for event in voice), Fraction(0))
            if filled != self.length:
                raise ScoreError(f"bar {self.number} holds {filled} quarters, not {self.length}")


@dataclass(frozen=True, slots=True)
class Score:
    """A whole lick as notation."""

    title: str
    bars: tuple[Bar, ...]
    meter: Meter
    tempo_bpm: float
    tempo_is_given: bool
    swing: bool
    key: Key | None
    fifths: int  # key signature: sharps above 0, flats below
    instrument: Instrument
    doubts: tuple[Doubt, ...] = ()  # where to look first, as the take document tells
