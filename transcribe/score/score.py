"""Score, Bar, Event, WrittenValue: one voice or more of notation, ready for any writer."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from transcribe.document.model import Instrument, TakeNote
from transcribe.errors import ScoreError
from transcribe.harmony.key import Key
from transcribe.notes.note import Bend, Doubt
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
class BentTo:
    """A bend made during a head, and the pitch it arrives at; no name where that lies between semitones."""

    bend: Bend
    spelled: Spelled | None


@dataclass(frozen=True, slots=True)
class ScoreNote:
    """One head: the take's note, how it is spelled, and its ties. A tied continuation shows no gesture again."""

    take: TakeNote
    spelled: Spelled
    tied_from: bool = False  # continues an earlier head
    tied_to: bool = False  # is continued by a later head
    sounding: Spelled | None = None  # as it begins, where the string is bent already: after a pre-bend, or tied on
    bent: tuple[BentTo, ...] = ()  # the bends that begin during it, in order
    touched_fret: int | None = None  # where the picking hand touches the string for an artificial harmonic


@dataclass(frozen=True, slots=True)
class Event:
    """Heads that start together, or a rest when there are none."""

    beat: Fraction  # offset in the bar, quarters
    value: WrittenValue
    notes: tuple[ScoreNote, ...] = ()  # highest first
    tuplet_starts: bool = False
    tuplet_stops: bool = False
    hidden: bool = False  # a rest that keeps a second voice full but is not drawn

    def __post_init__(self) -> None:
        if self.hidden and self.notes:
            raise ScoreError("only a rest may be hidden; this event holds notes")

    @property
    def is_rest(self) -> bool:
        """True when nothing is struck or tied here."""
        return not self.notes


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of one or two voices; each fills it exactly.

    Where there are two, because a note rings on while others are struck, the first is the higher and written with
    stems up, the second the lower and written with stems down. Rests of the second are hidden.
    """

    number: int  # 0 is the pickup bar
    length: Fraction  # quarters; the pickup bar is short
    voices: tuple[tuple[Event, ...], ...]

    def __post_init__(self) -> None:
        if not 1 <= len(self.voices) <= 2:
            raise ScoreError(f"a bar is written in one or two voices; bar {self.number} has {len(self.voices)}")
        for voice in self.voices:
            filled = sum((event.value.quarters for event in voice), Fraction(0))
            if filled != self.length:
                raise ScoreError(f"bar {self.number} holds {filled} quarters, not {self.length}")


@dataclass(frozen=True, slots=True)
class ChordMark:
    """A chord symbol over the bar it begins in."""

    bar: int  # number of the bar
    beat: Fraction  # offset in the bar, quarters
    symbol: str  # "A7"
    role: str | None = None  # its place in the key, "IV"
    over: str | None = None  # the bass note when it is not the root
    shape: str | None = None  # the movable shape it is played in, "E"
    fret: int | None = None  # where that shape stands
    backing: str | None = None  # the chord that the backing plays under it, when that is another one
    cadence: str | None = None  # the cadence that closes a phrase with it, "half"


SpanKind = Literal["let ring", "palm mute"]


@dataclass(frozen=True, slots=True)
class TechniqueSpan:
    """A stretch played one way, drawn once for all its notes: from its first note to where its last one ends.

    The end is the point where the last note stops sounding as written: ``end_beat`` may equal the bar's length.
    """

    kind: SpanKind
    start_bar: int
    start_beat: Fraction
    end_bar: int
    end_beat: Fraction
    notes: tuple[str, ...]  # ids of the notes played so, in order


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
    chords: tuple[ChordMark, ...] = ()  # in order
    spans: tuple[TechniqueSpan, ...] = ()  # let-ring and palm-mute stretches, in order
    about: str | None = None  # a paragraph on what the lick does
    vamp: str | None = None  # the chord that the backing stays on
    first_downbeat_s: float = 0.0  # where bar 1 begins in the take
