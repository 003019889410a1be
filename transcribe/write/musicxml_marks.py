"""What spans several notes: hammer-ons, pull-offs, slides and palm mutes, paired up for a whole score."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from transcribe.document.model import TakeNote
from transcribe.score.score import Event, Score

JoinKind = Literal["hammer-on", "pull-off", "slide"]
NUMBERS = 8  # of the 16 that MusicXML 4.0's number-level allows; one half for each staff


@dataclass(frozen=True, slots=True)
class Join:
    """One note leading into another without a pick."""

    kind: JoinKind
    number: int  # tells it from others that overlap it, 1 to 8


@dataclass(frozen=True, slots=True)
class Spans:
    """Marks by note id, and palm-mute spans by the ids of the notes they begin and end on."""

    starts: Mapping[str, tuple[Join, ...]]  # on the last head of a tied note
    stops: Mapping[str, tuple[Join, ...]]  # on the first
    palm_starts: frozenset[str]
    palm_stops: frozenset[str]


def spans_of(score: Score) -> Spans:
    """Return the marks of a score. A mark whose other end is not in the score, or not on its string, is left out."""
    takes = _in_order(score)
    starts: dict[str, list[Join]] = defaultdict(list)
    stops: dict[str, list[Join]] = defaultdict(list)
    for count, (kind, first, second) in enumerate(_pairs(takes)):
        join = Join(kind, count % NUMBERS + 1)
        starts[first].append(join)
        stops[second].append(join)
    palm_starts, palm_stops = _palm_ends(score)
    return Spans(
        {name: tuple(joins) for name, joins in starts.items()},
        {name: tuple(joins) for name, joins in stops.items()},
        palm_starts,
        palm_stops,
    )


def _in_order(score: Score) -> list[TakeNote]:
    """Return every note once, by its first head."""
    events = [
        (bar_index, event.beat, event) for bar_index, bar in enumerate(score.bars) for event in _events(bar.voices)
    ]
    ordered = sorted(events, key=lambda entry: entry[:2])
    return [note.take for _, _, event in ordered for note in event.notes if not note.tied_from]


def _events(voices: tuple[tuple[Event, ...], ...]) -> Iterator[Event]:
    for voice in voices:
        yield from voice


def _pairs(takes: list[TakeNote]) -> Iterator[tuple[JoinKind, str, str]]:
    """Yield (kind, id of the first note, id of the second) in order of the second."""
    sliding = {take.note.slide.to: take.id for take in takes if take.note.slide and take.note.slide.to}
    last_on_string: dict[int, str] = {}
    seen: set[str] = set()
    for take in takes:
        string = take.placement.string if take.placement else None
        attack = take.note.attack
        if sliding.get(take.id) in seen:
            yield "slide", sliding[take.id], take.id
        elif string in last_on_string and attack in ("hammer-on", "pull-off"):
            yield attack, last_on_string[string], take.id
        if string is not None:
            last_on_string[string] = take.id
        seen.add(take.id)


def _palm_ends(score: Score) -> tuple[frozenset[str], frozenset[str]]:
    """Return the first and last note of every run of palm-muted notes; rests do not end a run."""
    starts: set[str] = set()
    stops: set[str] = set()
    for voice in range(max((len(bar.voices) for bar in score.bars), default=0)):
        last: str | None = None
        for bar in score.bars:
            for event in bar.voices[voice] if voice < len(bar.voices) else ():
                if event.is_rest:
                    continue
                if all(note.take.note.mute == "palm" for note in event.notes):
                    name = event.notes[0].take.id
                    if last is None:
                        starts.add(name)
                    last = name
                elif last is not None:
                    stops.add(last)
                    last = None
        if last is not None:
            stops.add(last)
    return frozenset(starts), frozenset(stops)
