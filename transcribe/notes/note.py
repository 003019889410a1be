"""Note, Bend, Slide, Vibrato, Contour, Doubt: what was heard, before rhythm and frets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from transcribe.errors import NoteError

Attack = Literal["picked", "hammer-on", "pull-off", "slide", "unknown"]
BendKind = Literal["bend", "pre-bend", "release"]
SlideKind = Literal["legato", "shift", "in", "out"]
Mute = Literal["none", "palm", "dead"]
Harmonic = Literal["none", "natural", "artificial"]

WEIGHTS_SLACK = 0.02  # weights are written with three digits


@dataclass(frozen=True, slots=True)
class Bend:
    """One push or let-down of a string; intervals are above the fretted pitch."""

    kind: BendKind
    start_s: float  # the pitch leaves where it was; for a pre-bend, the attack
    reach_s: float  # it first arrives
    end_s: float  # it stops being held: the next release or bend, or the end of the note
    target_cents: float  # where it was meant to arrive (a release: usually 0)
    reached_cents: float  # where it did arrive
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept

    def __post_init__(self) -> None:
        if not 0 <= self.start_s <= self.reach_s <= self.end_s:
            raise NoteError(
                f"a bend starts, reaches and ends in that order; got {self.start_s}, {self.reach_s}, {self.end_s} s"
            )
        if self.target_cents < 0:
            raise NoteError(f"a bend's target is at or above the fretted pitch; got {self.target_cents} cents")

    @property
    def error_cents(self) -> float:
        """How far the arrival missed the target; below zero when it fell short."""
        return self.reached_cents - self.target_cents


@dataclass(frozen=True, slots=True)
class Slide:
    """A finger moving along the string while it sounds."""

    kind: SlideKind  # legato: the next note is not picked again; shift: it is; in, out: from or to no clear fret
    cents: float  # signed travel; for "in" from below it is above zero
    to: str | None = None  # id of the note it arrives at (legato, shift)
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept

    def __post_init__(self) -> None:
        if (self.to is not None) != (self.kind in ("legato", "shift")):
            raise NoteError(f"a legato or shift slide names the note it reaches, others do not; got {self}")


@dataclass(frozen=True, slots=True)
class Vibrato:
    """A steady wave in pitch around a held note."""

    rate_hz: float
    extent_cents: float  # from the middle to the top of the wave
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept

    def __post_init__(self) -> None:
        if self.rate_hz <= 0 or self.extent_cents <= 0:
            raise NoteError(f"vibrato has a rate and an extent above zero; got {self.rate_hz}, {self.extent_cents}")


@dataclass(frozen=True, slots=True)
class Contour:
    """Sounding pitch through one note, in cents from its fretted pitch, tuning offset removed."""

    start_s: float
    hop_s: float
    cents: tuple[float | None, ...]  # None where no pitch could be read
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept


@dataclass(frozen=True, slots=True)
class Note:
    """One sounding note. ``midi`` is the fretted pitch; bends and slides are told beside it.

    ``None`` means that nobody measured it (a document written by hand has pitches and times alone).
    """

    id: str
    onset_s: float  # from the start of the file
    offset_s: float
    midi: int
    cents: float | None = None  # deviation at rest from ``midi``, tuning offset removed
    level_db: float | None = None
    confidence: float | None = None  # 0 to 1
    attack: Attack = "unknown"
    bends: tuple[Bend, ...] = ()
    slide: Slide | None = None
    vibrato: Vibrato | None = None
    mute: Mute = "none"
    harmonic: Harmonic = "none"
    let_ring: bool = False
    contour: Contour | None = None
    string_weights: tuple[float, ...] | None = None  # string 1 first, summing to 1: what the sound suggests

    def __post_init__(self) -> None:
        if not 0 <= self.onset_s < self.offset_s:
            raise NoteError(
                f"a note must end after it starts, at or after 0 s; got {self.onset_s} to {self.offset_s} s"
            )
        if not 0 <= self.midi <= 127:
            raise NoteError(f"a MIDI note number is 0 to 127; got {self.midi}")
        if self.confidence is not None and not 0 <= self.confidence <= 1:
            raise NoteError(f"a confidence is 0 to 1; got {self.confidence}")
        weights = self.string_weights
        if weights is not None and (min(weights, default=-1.0) < 0 or abs(sum(weights) - 1) > WEIGHTS_SLACK):
            raise NoteError(f"the weights of the strings are 0 or more and sum to 1; got {weights}")

    @property
    def highest_bend_cents(self) -> float:
        """How far above the fretted pitch the string must be pushed for this note; 0 with no bend."""
        return max((max(bend.target_cents, bend.reached_cents) for bend in self.bends), default=0.0)


@dataclass(frozen=True, slots=True)
class Doubt:
    """Where to look first, in words a player uses; about one note, or about the take when ``note`` is None."""

    why: str
    note: str | None = None
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept
    about: str | None = None  # the room it came from, where that matters: "fingering" is replaced by a new fingering
