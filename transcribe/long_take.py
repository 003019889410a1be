"""Takes of many minutes, listened to a passage at a time, so that memory follows the passage and not the take.

Passages meet where the playing is quietest. Each is heard with a little of the sound before and after it, and keeps the
notes that begin in it; what is said of each note is then as if the take had been heard whole.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.errors import TakeError
from transcribe.evidence.string_stretch import StretchReading
from transcribe.notes.hear import Heard
from transcribe.notes.naming import named_anew, new_names
from transcribe.notes.note import Doubt, Note
from transcribe.rhythm import BeatTimes
from transcribe.rhythm.beat_times import gone_on

PASSAGE_S = 120.0  # of sound heard in one go: memory follows it
LONG_S = 240.0  # a take up to here is heard whole
BEFORE_S, AFTER_S = 1.5, 4.0  # heard besides: what rings into a passage, and how its last notes end
SEARCH_S = 15.0  # at the end of a passage, in which the quietest moment is taken
QUIET_S = 0.05
LONGEST_HOURS = 4

Said = TypeVar("Said", str, Doubt)


@dataclass(frozen=True, slots=True, eq=False)
class Listened:
    """What was heard in a take, or in a passage of it."""

    heard: Heard
    strings: tuple[tuple[StretchReading, ...], ...]  # by note: how its partials can be read
    remarks: tuple[str, ...]
    beats: BeatTimes | None
    start_s: float
    end_s: float


def check_length(length_s: float) -> None:
    """Raise TakeError for more than a tool for licks and lessons should swallow."""
    if length_s > LONGEST_HOURS * 3600.0:
        raise TakeError(
            f"{length_s / 3600:.1f} hours are too long for one take (limit {LONGEST_HOURS} hours)",
            "Cut out what you want with --from and --to, in seconds.",
        )


def meeting_s(recording: Recording, end_s: float) -> float:
    """Return the quietest moment in the last seconds before ``end_s``, where one passage may end and the next begin."""
    step = max(1, round(QUIET_S * recording.rate_hz))
    first = max(0, round((end_s - SEARCH_S - recording.start_s) * recording.rate_hz))
    last = max(first + step, round((end_s - recording.start_s) * recording.rate_hz))
    part = recording.samples[first:last]
    count = part.size // step
    if count == 0:
        return end_s
    power = np.square(part[: count * step].reshape(count, step), dtype=np.float64).mean(axis=1)
    return recording.start_s + (first + (int(power.argmin()) + 0.5) * step) / recording.rate_hz


def beginning_in(passage: Listened, from_s: float, to_s: float) -> Listened:
    """Return the passage with the notes that begin from ``from_s`` up to ``to_s`` alone."""
    kept = [from_s <= note.onset_s < to_s for note in passage.heard.notes]
    notes = tuple(note for note, inside in zip(passage.heard.notes, kept, strict=True) if inside)
    strings = tuple(ways for ways, inside in zip(passage.strings, kept, strict=True) if inside)
    names = {note.id for note in notes}
    doubts = tuple(doubt for doubt in passage.heard.doubts if doubt.note is None or doubt.note in names)
    grounds = {name: told for name, told in passage.heard.grounds.items() if name in names}
    return replace(
        passage,
        heard=replace(passage.heard, notes=notes, doubts=doubts, grounds=grounds),
        strings=strings,
        start_s=max(passage.start_s, from_s),
        end_s=min(passage.end_s, to_s),
    )


def joined(passages: Sequence[Listened]) -> Listened:
    """Return passages in order of time as one take: notes named anew, one tuning, what is said of all told once.

    Beats told by a click are those of the first passage that has any, gone on with by later ones of the same row.
    """
    counts = np.array([max(1, len(passage.heard.notes)) for passage in passages], dtype=np.float64)
    offsets = np.array([passage.heard.tuning_offset_cents for passage in passages])
    tuning = float((counts * offsets).sum() / counts.sum())
    notes: list[Note] = []
    doubts: list[Doubt] = []
    strings: dict[str, tuple[StretchReading, ...]] = {}
    for number, passage in enumerate(passages):
        mark, shift = f"{number}:", passage.heard.tuning_offset_cents - tuning
        notes += [_moved(note, mark, shift) for note in passage.heard.notes]
        doubts += [
            replace(doubt, note=None if doubt.note is None else mark + doubt.note) for doubt in passage.heard.doubts
        ]
        strings |= {mark + note.id: ways for note, ways in zip(passage.heard.notes, passage.strings, strict=True)}
    names = new_names(tuple(notes))
    grounds = {
        names[f"{number}:{old}"]: told
        for number, passage in enumerate(passages)
        for old, told in passage.heard.grounds.items()
        if f"{number}:{old}" in names
    }
    told = {names[old]: ways for old, ways in strings.items()}
    ordered = named_anew(tuple(notes))
    said = [replace(doubt, note=names[doubt.note]) for doubt in doubts if doubt.note is not None]
    of_take = _once([doubt for doubt in doubts if doubt.note is None], lambda doubt: doubt.why)
    return Listened(
        Heard(ordered, tuning, (*of_take, *said), grounds),
        tuple(told[note.id] for note in ordered),
        tuple(_once([remark for passage in passages for remark in passage.remarks], str)),
        _beats(passages),
        passages[0].start_s,
        passages[-1].end_s,
    )


def _beats(passages: Sequence[Listened]) -> BeatTimes | None:
    """The beats of all passages; bar 1 begins with them only where nothing was heard before."""
    beats: BeatTimes | None = None
    for number, passage in enumerate(passages):
        if passage.beats is None:
            continue
        if beats is None:
            before = any(earlier.heard.notes for earlier in passages[:number])
            beats = replace(passage.beats, starts_bar=passage.beats.starts_bar and not before)
        elif beats.source == "click":
            beats = gone_on(beats, passage.beats)
    return beats


def _moved(note: Note, mark: str, cents: float) -> Note:
    """The note named apart from those of other passages, its cents counted from the tuning of the whole take."""
    slide, contour = note.slide, note.contour
    if slide is not None and slide.to is not None:
        slide = replace(slide, to=mark + slide.to)
    if contour is not None:
        contour = replace(contour, cents=tuple(None if c is None else round(c + cents, 1) for c in contour.cents))
    rest = None if note.cents is None else round(note.cents + cents, 1)
    return replace(note, id=mark + note.id, slide=slide, contour=contour, cents=rest)


def _once(said: Sequence[Said], words: Callable[[Said], str]) -> list[Said]:
    """Each sentence once: those that differ in their numbers alone say the same."""
    first: dict[str, Said] = {}
    for each in said:
        first.setdefault(re.sub(r"[\d.]+", "0", words(each)), each)
    return list(first.values())
