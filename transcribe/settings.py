"""Every default in one place, frozen: one class a room, each number with its unit and source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AudioSettings:
    """Reading and conditioning."""


@dataclass(frozen=True, slots=True)
class EvidenceSettings:
    """Maps and fine pitch."""


@dataclass(frozen=True, slots=True)
class NoteSettings:
    """Voices, gestures, attacks, mutes, intonation, doubts."""


@dataclass(frozen=True, slots=True)
class RhythmSettings:
    """Tempo, grid and written values."""


@dataclass(frozen=True, slots=True)
class Settings:
    """All rooms' defaults together."""

    audio: AudioSettings = AudioSettings()
    evidence: EvidenceSettings = EvidenceSettings()
    notes: NoteSettings = NoteSettings()
    rhythm: RhythmSettings = RhythmSettings()
