"""Takes of many minutes, listened to a passage at a time, so that memory follows the passage and not the take.

Passages meet where the playing is quietest. Each is heard with a little of the sound before and after it, and keeps the
notes that begin in it; what is said of each note is then as if the take had been heard whole.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from transcribe.audio.read_remarks import ended_early, ends_before
from transcribe.audio.recording import Recording
from transcribe.errors import TakeError
from transcribe.evidence.string_stretch import StretchReading
from transcribe.notes.doubts import NO_NOTE, NO_TUNING
from transcribe.notes.hear import Heard
from transcribe.notes.naming import named_anew, new_names
from transcribe.notes.note import Doubt, Note
from transcribe.notes.retuned import around_cents, retuned
from transcribe.rhythm import BeatTimes
from transcribe.rhythm.beat_times import gone_on

PASSAGE_S = 120.0  # of sound heard in one go: memory follows it
LONG_S = 240.0  # a take up to here is heard whole
BEFORE_S, AFTER_S = 1.5, 4.0  # heard besides: what rings into a passage, and how its last notes end
SEARCH_S = 15.0  # at the end of a passage, in which the quietest moment is taken
QUIET_S = 0.05
LONGEST_HOURS = 4
HALFWAY_S = 600.0  # of a take whose length nobody knows
LEAST_ERROR_CENTS = 0.01  # of a tuning: none is known better

BREAKS_OFF = "The sound cannot be read from {} on: what was played after it is not in this draft."
GOES_ON = "Only the first {} hours were heard: the sound goes on."
NUMBER = re.compile(r"\d[\d.:]*(?P<seconds> s\b)?")
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
    if length_s > longest_s():
        raise TakeError(
            f"{length_s / 3600:.1f} hours are too long for one take (limit {LONGEST_HOURS} hours)",
            "Cut out what you want with --from and --to, in seconds.",
        )


def longest_s() -> float:
    """Return the seconds of sound that are heard of one take at most."""
    return LONGEST_HOURS * 3600.0


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


def unheard(recording: Recording, *why: str) -> Listened:
    """Return a passage in which nothing was heard, and why."""
    return Listened(Heard((), 0.0, ()), (), (*recording.remarks, *why), None, recording.start_s, recording.end_s)


def not_heard(from_s: float, to_s: float, error: TakeError) -> str:
    """Return the remark that a passage could not be listened to."""
    return f"From {clock(from_s)} to {clock(to_s)} nothing was heard: {error.found}. {error.mend}"


def breaking_off(passage: Listened) -> Listened:
    """Return the last passage before sound that cannot be read, which it says."""
    return replace(passage, remarks=(*passage.remarks, BREAKS_OFF.format(clock(passage.end_s))))


def ending(passage: Listened, asked_s: float | None, limit_s: float) -> Listened:
    """Return the last passage, which says so where sound ends before ``asked_s`` or goes on past ``limit_s``."""
    asked_s = math.inf if asked_s is None else asked_s
    if limit_s < asked_s and not ends_before(passage.end_s, limit_s):
        return replace(passage, remarks=(*passage.remarks, GOES_ON.format(LONGEST_HOURS)))
    return replace(passage, remarks=(*passage.remarks, *ended_early(passage.end_s, asked_s)))


def clock(time_s: float) -> str:
    """Return a time as minutes and seconds, as a player shows it.

    >>> clock(3725.9)
    '62:05'
    """
    return f"{int(time_s) // 60}:{int(time_s) % 60:02}"


def share_done(done_s: float, of_s: float | None) -> float:
    """Return the share of a take that is done; where its length is not known, half after ``HALFWAY_S``."""
    return done_s / (done_s + HALFWAY_S) if of_s is None else min(1.0, done_s / of_s)


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
    spans = passages
    passages = [passage for passage in spans if passage.heard.notes or passage.heard.doubts] or spans[:1]
    tuning, error = tuning_of_all([passage.heard for passage in passages])
    notes: list[Note] = []
    doubts: list[Doubt] = []
    strings: dict[str, tuple[StretchReading, ...]] = {}
    for number, passage in enumerate(passages):
        mark = f"{number}:"
        notes += [
            _marked(note, mark) for note in retuned(passage.heard.notes, passage.heard.tuning_offset_cents, tuning)
        ]
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
    of_take = _once(_of_the_take(passages), lambda doubt: doubt.why)
    return Listened(
        Heard(ordered, tuning, (*of_take, *said), grounds, error),
        tuple(told[note.id] for note in ordered),
        tuple(_once([remark for span in spans for remark in span.remarks], str)),
        _beats(passages),
        spans[0].start_s,
        spans[-1].end_s,
    )


def tuning_of_all(passages: Sequence[Heard]) -> tuple[float, float]:
    """Return how many cents the guitar of all passages is sharp, and the standard error of that.

    Each counts by one over its squared error; one that could not tell counts where none could. Tunings stand on the
    circle of a semitone: they are taken where they lie nearest to the surest.
    """
    told = [heard for heard in passages if heard.notes]
    if not told:
        return 0.0, math.inf
    sure = [heard for heard in told if math.isfinite(heard.tuning_error_cents)]
    errors = np.array([max(heard.tuning_error_cents, LEAST_ERROR_CENTS) for heard in sure])
    weights = errors**-2.0 if sure else np.array([float(len(heard.notes)) for heard in told])
    offsets = [heard.tuning_offset_cents for heard in sure or told]
    surest = offsets[int(weights.argmax())]
    apart = np.array([around_cents(offset - surest) for offset in offsets])
    cents = around_cents(surest + float((weights * apart).sum() / weights.sum()))
    return cents, float(weights.sum() ** -0.5) if sure else math.inf


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


def _marked(note: Note, mark: str) -> Note:
    """The note named apart from those of other passages."""
    slide = note.slide
    if slide is not None and slide.to is not None:
        slide = replace(slide, to=mark + slide.to)
    return replace(note, id=mark + note.id, slide=slide)


def _of_the_take(passages: Sequence[Listened]) -> list[Doubt]:
    """Doubts about the take; what a passage lacks is told where every passage that has notes lacks it."""
    with_notes = [passage.heard for passage in passages if passage.heard.notes]
    untrue = {NO_NOTE: bool(with_notes), NO_TUNING: not all(_says(heard, NO_TUNING) for heard in with_notes)}
    said = [doubt for passage in passages for doubt in passage.heard.doubts if doubt.note is None]
    return [doubt for doubt in said if not untrue.get(doubt.why, False)]


def _says(heard: Heard, why: str) -> bool:
    return any(doubt.why == why for doubt in heard.doubts)


def _once(said: Sequence[Said], words: Callable[[Said], str]) -> list[Said]:
    """Each sentence once: those that differ in their numbers alone say the same, unless these are moments."""
    first: dict[str, Said] = {}
    for each in said:
        first.setdefault(NUMBER.sub(_unless_moment, words(each)), each)
    return list(first.values())


def _unless_moment(number: re.Match[str]) -> str:
    return number[0] if number["seconds"] or ":" in number[0] else "0"
