"""Notes that start together become one moment: when it sounds, how much it tells of the beat, when it ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from transcribe.notes.note import Note
from transcribe.settings import RhythmSettings

LEGATO = ("hammer-on", "pull-off", "slide")
QUIET_DB = 30.0  # a note this far under the loudest tells half as much


@dataclass(frozen=True, slots=True)
class Moment:
    """One start of sound: a note, or several struck as one."""

    onset_s: float
    end_s: float  # the last of its notes ends
    weight: float  # 0 to 1: how much it tells of the beat
    jitter_s: float  # how far it may stray from its written place
    notes: tuple[Note, ...]

    @property
    def ids(self) -> tuple[str, ...]:
        """Names of the notes that start here."""
        return tuple(note.id for note in self.notes)


def moments(notes: Sequence[Note], settings: RhythmSettings) -> tuple[Moment, ...]:
    """Return the moments in order of onset; a note started by the fretting hand never joins the one before."""
    groups: list[list[Note]] = []
    for note in sorted(notes, key=lambda note: (note.onset_s, -note.midi, note.id)):
        if groups and _together(groups[-1], note, settings):
            groups[-1].append(note)
        else:
            groups.append([note])
    loudest = max((note.level_db for note in notes if note.level_db is not None), default=None)
    return tuple(_moment(group, loudest, settings) for group in groups)


def _together(group: list[Note], note: Note, settings: RhythmSettings) -> bool:
    near = note.onset_s - group[-1].onset_s < settings.together_s
    close = near and note.onset_s - group[0].onset_s < settings.strum_s
    new_pitch = all(note.midi != other.midi for other in group)
    # A finger right after a pick is an ornament; two fingers that land at once are a double stop.
    alike = note.attack not in LEGATO or group[0].attack in LEGATO
    return close and new_pitch and alike and all(note.onset_s < other.offset_s for other in group)


def _moment(group: list[Note], loudest_db: float | None, settings: RhythmSettings) -> Moment:
    weights = [_weight(note, loudest_db, settings) for note in group]
    total = sum(weights)
    onset_s = sum(weight * note.onset_s for weight, note in zip(weights, group, strict=True)) / total
    struck = any(note.attack not in LEGATO for note in group)
    return Moment(
        onset_s=onset_s,
        end_s=max(note.offset_s for note in group),
        weight=max(weights),
        jitter_s=(settings.jitter_s if struck else settings.legato_jitter_s) * _haze(group),
        notes=tuple(group),
    )


def _haze(group: list[Note]) -> float:
    """How many times further than usual a start may be off: up to twice when nothing in it is sure."""
    return 2.0 - max(1.0 if note.confidence is None else note.confidence for note in group)


def _weight(note: Note, loudest_db: float | None, settings: RhythmSettings) -> float:
    weight = settings.legato_weight if note.attack in LEGATO else 1.0
    if note.confidence is not None:
        weight *= 0.25 + 0.75 * note.confidence
    if note.level_db is not None and loudest_db is not None:
        weight *= max(0.5, 1.0 - 0.5 * (loudest_db - note.level_db) / QUIET_DB)
    return weight
