"""TakeDocument: everything heard and decided about one take. It knows nothing of files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fingering.fretboard import STANDARD_OPEN_MIDI
from fingering.passage import Placement
from fingering.solution import ShapeSpan
from transcribe.harmony.chord_span import ChordSpan
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
    degree: str | None = None  # of the key, "b3"; a bent note's is that of the sounding target
    chord_degree: str | None = None  # of the chord sounding under it or with it, "5"
    tone: str | None = None  # what the note does: "chord tone", "passing tone", "half step into the 3rd" ...
    tie_to: str | None = None  # id of the note this one is tied into, for documents that write a held note as two
    locked: tuple[str, ...] = ()  # fields fixed by the person: never changed by a re-solve
    position: int | None = None  # fret under the index finger, from the nut or capo, while this note is played
    unknown: Unknown = field(default_factory=dict)

    @property
    def id(self) -> str:
        """The note's name inside the document."""
        return self.note.id


@dataclass(frozen=True, slots=True)
class TakeDocument:
    """One take. ``about`` is a paragraph on what the lick does, ``vamp`` the one chord that the backing stays on."""

    notes: tuple[TakeNote, ...]
    instrument: Instrument = Instrument()
    source: Source | None = None
    rhythm: Rhythm | None = None
    key: Key | None = None
    vamp: str | None = None
    chords: tuple[ChordSpan, ...] = ()  # in order of time
    about: str | None = None
    about_sha256: str | None = None  # of the paragraph as the tool wrote it: another text was edited, and is kept
    shapes: tuple[ShapeSpan, ...] = ()  # which chord shape or scale box each stretch of the fingering lies in
    doubts: tuple[Doubt, ...] = ()
    locked: tuple[str, ...] = ()  # of this document's own keys, fixed by a person: "key", "chords", "about"
    tool: Mapping[str, Any] = field(default_factory=dict)
    unknown: Unknown = field(default_factory=dict)
