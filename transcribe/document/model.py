"""TakeDocument: everything heard and decided about one take. It knows nothing of files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fingering.fretboard import STANDARD_OPEN_MIDI
from fingering.passage import Placement
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt, Note
from transcribe.rhythm.rhythm import Rhythm, Timing

FORMAT = "takesheet/take"
VERSION = 1

Unknown = Mapping[str, Any]  # keys another program wrote, kept on a round trip


@dataclass(frozen=True, slots=True)
class Source:
    """The file that was heard."""

    file: str
    sha256: str | None = None
    start_s: float = 0.0
    duration_s: float | None = None
    sample_rate_hz: int | None = None
    unknown: Unknown = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Instrument:
    """The guitar, and how far it stands from concert pitch."""

    open_strings_midi: tuple[int, ...] = STANDARD_OPEN_MIDI  # string 1 first, without the capo
    frets: int = 22
    capo: int = 0
    scale_length_mm: float = 648.0
    reference_hz: float = 440.0
    tuning_offset_cents: float | None = None
    unknown: Unknown = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TakeNote:
    """One note with all that later rooms decided about it."""

    note: Note
    placement: Placement | None = None  # heard but not placed: None
    timing: Timing | None = None
    degree: str | None = None
    tie_to: str | None = None  # id of the note this one is tied into, for documents that write a held note as two
    locked: tuple[str, ...] = ()  # fields fixed by the person: never changed by a re-solve
    unknown: Unknown = field(default_factory=dict)

    @property
    def id(self) -> str:
        """The note's name inside the document."""
        return self.note.id


@dataclass(frozen=True, slots=True)
class TakeDocument:
    """One take. ``chords`` stays plain JSON until the harmony room owns it."""

    notes: tuple[TakeNote, ...]
    instrument: Instrument = Instrument()
    source: Source | None = None
    rhythm: Rhythm | None = None
    key: Key | None = None
    chords: tuple[Mapping[str, Any], ...] = ()
    doubts: tuple[Doubt, ...] = ()
    tool: Mapping[str, Any] = field(default_factory=dict)
    unknown: Unknown = field(default_factory=dict)
