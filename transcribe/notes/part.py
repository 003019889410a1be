"""Part and OpenPart: one note of a stretch, read and while it is being read."""

from __future__ import annotations

from dataclasses import dataclass, field

from transcribe.notes.note import Attack, Bend, BendKind, SlideKind, Vibrato


@dataclass(frozen=True, slots=True)
class Part:
    """One note of a stretch, before it has a name."""

    onset_s: float
    end_s: float
    midi: int
    rest_cents: float  # where the string rests, against ``midi``
    attack: Attack
    bends: tuple[Bend, ...] = ()
    slide: tuple[SlideKind, float] | None = None  # kind and signed cents
    vibrato: Vibrato | None = None
    sure: float = 1.0  # of the gestures, 0 to 1
    finger: float = 0.5  # likelihood that the fretting hand alone began it, 0 to 1


@dataclass
class OpenPart:
    """The note being read: what the pitch has done since it began."""

    onset_s: float
    attack: Attack
    first: int  # sample where it begins
    # kind, start and reach in seconds, pitch reached
    pushes: list[tuple[BendKind, float, float, float]] = field(default_factory=list)
    rest_midi: float | None = None  # pitch of the fret, once it has been heard
    pushed: float = 0.0  # semitones above the fret now
    slide: tuple[SlideKind, float] | None = None
    sure: float = 1.0
