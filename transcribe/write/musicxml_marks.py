"""What spans several notes: hammer-ons, pull-offs, slides, palm mutes and let ring, paired up for a whole score."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from transcribe.document.model import TakeNote
from transcribe.notes.note import Doubt
from transcribe.score.octaves import octave_stretches
from transcribe.score.score import Event, Score, SpanKind

JoinKind = Literal["hammer-on", "pull-off", "slide"]
NUMBERS = 8  # of the 16 that MusicXML 4.0's number-level allows; one half for each staff


@dataclass(frozen=True, slots=True)
class Join:
    """One note leading into another without a pick."""

    kind: JoinKind
    number: int  # tells it from others that overlap it, 1 to 8


@dataclass(frozen=True, slots=True)
class Spans:
    """Marks by note id."""

    starts: Mapping[str, tuple[Join, ...]]  # on the last head of a tied note
    stops: Mapping[str, tuple[Join, ...]]  # on the first
    dash_starts: Mapping[str, tuple[SpanKind, ...]]  # on the first note of a let-ring or palm-mute span
    dash_stops: Mapping[str, tuple[SpanKind, ...]]  # on the note that ends last in it
    ringing: frozenset[str]  # notes of the let-ring spans
    doubts: Mapping[str, tuple[str, ...]]  # reasons to check a note
    octave_starts: frozenset[str]  # first notes of what is shown an octave lower under 8va, one for each stretch
    octave_stops: frozenset[str]  # and last ones


def spans_of(score: Score) -> Spans:
    """Return the marks of a score. A mark whose other end is not in the score, or not on its string, is left out."""
    takes = _in_order(score)
    starts: dict[str, list[Join]] = defaultdict(list)
    stops: dict[str, list[Join]] = defaultdict(list)
    for count, (kind, first, second) in enumerate(_pairs(takes)):
        join = Join(kind, count % NUMBERS + 1)
        starts[first].append(join)
        stops[second].append(join)
    dash_starts, dash_stops = _dashes(score)
    return Spans(
        {name: tuple(joins) for name, joins in starts.items()},
        {name: tuple(joins) for name, joins in stops.items()},
        dash_starts,
        dash_stops,
        frozenset(name for span in score.spans if span.kind == "let ring" for name in span.notes),
        _doubts(score.doubts),
        *_octaves(score),
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


def _dashes(score: Score) -> tuple[dict[str, tuple[SpanKind, ...]], dict[str, tuple[SpanKind, ...]]]:
    """Return the kinds of span that begin on a note, and those that end on one."""
    ends = {
        head.take.id: (bar.number, event.beat + event.value.quarters)
        for bar in score.bars
        for event in _events(bar.voices)
        for head in event.notes
        if not head.tied_to
    }
    starts: dict[str, tuple[SpanKind, ...]] = {}
    stops: dict[str, tuple[SpanKind, ...]] = {}
    for span in score.spans:
        first, last = span.notes[0], max(span.notes, key=lambda name: ends[name])
        starts[first] = (*starts.get(first, ()), span.kind)
        stops[last] = (*stops.get(last, ()), span.kind)
    return starts, stops


def _octaves(score: Score) -> tuple[frozenset[str], frozenset[str]]:
    """Return a note that begins each stretch under 8va, and one that ends it: of several, the highest."""

    def highest(at: tuple[int, Fraction]) -> str:
        index, beat = at
        events = (event for event in _events(score.bars[index].voices) if event.beat == beat and event.notes)
        return next(events).notes[0].take.id

    stretches = octave_stretches(score.bars)
    return frozenset(highest(each.start) for each in stretches), frozenset(highest(each.end) for each in stretches)


def _doubts(doubts: Sequence[Doubt]) -> Mapping[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for doubt in doubts:
        if doubt.note is not None:
            found[doubt.note] = (*found.get(doubt.note, ()), doubt.why)
    return found
