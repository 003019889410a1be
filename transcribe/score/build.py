"""A take document to notation: bars filled exactly, ties, rests, triplets, names and key signature."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from transcribe.document.model import TakeDocument, TakeNote
from transcribe.rhythm.beats import fit_rhythm
from transcribe.rhythm.quantize import place_of, quantize
from transcribe.rhythm.rhythm import Rhythm, Timing
from transcribe.score.score import Bar, Event, Score, ScoreNote, Spelled
from transcribe.score.snap import FINE, SIXTH, snap
from transcribe.score.spelling import spell
from transcribe.score.split import Piece, Span, write_spans

UNTITLED = "Untitled lick"


@dataclass(frozen=True, slots=True)
class Sound:
    """Notes that start together, in quarters from the first downbeat."""

    start: Fraction
    end: Fraction
    notes: tuple[TakeNote, ...]  # highest first


def build_score(document: TakeDocument, *, title: str = UNTITLED) -> Score:
    """Return the take as notation in one voice.

    A document without rhythm (pitches and times alone) gets one fitted. Written places are kept where every note has
    one; otherwise all are found anew. A note that would sound into the next is cut there.
    """
    bare = [item.note for item in document.notes]
    rhythm = document.rhythm or fit_rhythm(bare)
    timings = _timings(document, rhythm)
    sounds = _sounds(document.notes, timings, rhythm)
    names = _names(document)
    rhythm, sounds = _with_pickup(rhythm, sounds)
    return Score(
        title=title,
        bars=_bars(sounds, names, rhythm),
        meter=rhythm.meter,
        tempo_bpm=rhythm.tempo_bpm,
        tempo_is_given=rhythm.tempo_source != "estimated",
        swing=rhythm.feel == "swing",
        key=document.key,
        fifths=document.key.fifths if document.key else 0,
        instrument=document.instrument,
        doubts=document.doubts,
    )


def _timings(document: TakeDocument, rhythm: Rhythm) -> Mapping[str, Timing]:
    written = {item.id: item.timing for item in document.notes if item.timing is not None}
    if document.rhythm is not None and len(written) == len(document.notes):
        return written
    return quantize([item.note for item in document.notes], rhythm)


def _sounds(notes: Sequence[TakeNote], timings: Mapping[str, Timing], rhythm: Rhythm) -> tuple[Sound, ...]:
    """Notes grouped by written start, each group ending where the next begins at the latest."""
    place = {item.id: place_of(timings[item.id], rhythm) for item in notes}
    tied = {item.id: item.tie_to for item in notes if item.tie_to in place and place[item.tie_to] > place[item.id]}
    sounding = [item for item in notes if item.id not in tied.values()]  # the others sound on from an earlier note
    starts = {item.id: place[item.id] for item in sounding}
    ends = {}
    for item in sounding:
        last = item.id
        while last in tied:
            last = tied[last]
        ends[item.id] = place[last] + timings[last].value
    written = snap([*starts.values(), *ends.values()], rhythm.meter)
    groups: dict[Fraction, list[TakeNote]] = {}
    for item in sounding:
        groups.setdefault(written[starts[item.id]], []).append(item)
    order = sorted(groups)
    stops = []
    for start, following in zip(order, [*order[1:], None], strict=False):
        shortest = start + (SIXTH if start % FINE else FINE)
        stop = max(shortest, *(written[ends[item.id]] for item in groups[start]))
        stops.append(stop if following is None else min(stop, following))
    again = snap([*order, *stops], rhythm.meter)  # the shortest length depends on what else stands in that beat
    return tuple(
        Sound(again[start], again[stop], tuple(sorted(groups[start], key=lambda item: -item.note.midi)))
        for start, stop in zip(order, stops, strict=True)
    )


def _names(document: TakeDocument) -> dict[str, Spelled]:
    line = sorted(document.notes, key=lambda item: (item.note.onset_s, -item.note.midi, item.id))
    spelled = spell([item.note.midi for item in line], document.key)
    return {item.id: name for item, name in zip(line, spelled, strict=True)}


def _with_pickup(rhythm: Rhythm, sounds: tuple[Sound, ...]) -> tuple[Rhythm, tuple[Sound, ...]]:
    """The rhythm with a pickup bar long enough for what is written before bar 1; a full one becomes bar 1."""
    before = [sound for sound in sounds if sound.start < 0]
    lead = max([rhythm.pickup_beats, *(-sound.start for sound in before)])
    edges = [edge for sound in before for edge in (sound.start, sound.end)]
    if lead % FINE or any(edge % FINE for edge in edges):  # a triplet is written whole
        lead = Fraction(math.ceil(lead))
    length = rhythm.meter.bar_beats
    if lead < length:
        return replace(rhythm, pickup_beats=lead), sounds
    moved = tuple(replace(sound, start=sound.start + length, end=sound.end + length) for sound in sounds)
    return replace(rhythm, pickup_beats=Fraction(0)), moved


def _bars(sounds: Sequence[Sound], names: Mapping[str, Spelled], rhythm: Rhythm) -> tuple[Bar, ...]:
    length = rhythm.meter.bar_beats
    last_end = max((sound.end for sound in sounds), default=length)
    bars = []
    if rhythm.pickup_beats > 0:
        bars.append(_bar(0, -rhythm.pickup_beats, Fraction(0), sounds, names, rhythm))
    for number in range(1, max(1, math.ceil(last_end / length)) + 1):
        start = (number - 1) * length
        bars.append(_bar(number, start, start + length, sounds, names, rhythm))
    return tuple(bars)


def _bar(
    number: int,
    start: Fraction,
    end: Fraction,
    sounds: Sequence[Sound],
    names: Mapping[str, Spelled],
    rhythm: Rhythm,
) -> Bar:
    downbeat = end - rhythm.meter.bar_beats  # where a full bar would begin: the pickup keeps its place in the bar
    spans: list[Span] = []
    at = start
    for index, sound in enumerate(sounds):
        low, high = max(sound.start, start), min(sound.end, end)
        if low >= high:
            continue
        if at < low:
            spans.append(Span(at - downbeat, low - downbeat, None))
        spans.append(Span(low - downbeat, high - downbeat, index))
        at = high
    if at < end:
        spans.append(Span(at - downbeat, end - downbeat, None))
    pieces = write_spans(spans, rhythm.meter)
    events = tuple(_event(piece, start - downbeat, downbeat, sounds, names) for piece in pieces)
    return Bar(number, end - start, (events,))


def _event(
    piece: Piece, lead: Fraction, downbeat: Fraction, sounds: Sequence[Sound], names: Mapping[str, Spelled]
) -> Event:
    notes: tuple[ScoreNote, ...] = ()
    if piece.sound is not None:
        sound = sounds[piece.sound]
        starts_here = sound.start == downbeat + piece.start
        ends_here = sound.end == downbeat + piece.start + piece.value.quarters
        notes = tuple(
            ScoreNote(item, names[item.id], tied_from=not starts_here, tied_to=not ends_here) for item in sound.notes
        )
    return Event(piece.start - lead, piece.value, notes, piece.tuplet_starts, piece.tuplet_stops)
