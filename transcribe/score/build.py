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
from transcribe.score.spelling import spell
from transcribe.score.split import Piece, Span, write_spans

UNTITLED = "Untitled lick"
GRIDS = (Fraction(1, 8), Fraction(1, 6))  # places this notation can write; others move to the nearest


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
    rhythm = _with_pickup(rhythm, sounds)
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
    groups: dict[Fraction, list[TakeNote]] = {}
    ends: dict[Fraction, Fraction] = {}
    into = {item.tie_to for item in notes if item.tie_to is not None}
    for item in notes:
        if item.id in into:  # sounds on from an earlier note
            continue
        start = _on_grid(place_of(timings[item.id], rhythm))
        last = _last_tied(item, notes)
        end = _on_grid(place_of(timings[last], rhythm) + timings[last].value)
        groups.setdefault(start, []).append(item)
        ends[start] = max(ends.get(start, end), end, start + GRIDS[0])
    starts = sorted(groups)
    limits = [*starts[1:], None][: len(starts)]
    return tuple(
        Sound(
            start,
            ends[start] if limit is None else min(ends[start], limit),
            tuple(sorted(groups[start], key=lambda item: -item.note.midi)),
        )
        for start, limit in zip(starts, limits, strict=True)
    )


def _last_tied(item: TakeNote, notes: Sequence[TakeNote]) -> str:
    """The id of the last note of a chain of ties."""
    by_id = {other.id: other for other in notes}
    seen = {item.id}
    while item.tie_to in by_id and item.tie_to not in seen:
        seen.add(item.tie_to)
        item = by_id[item.tie_to]
    return item.id


def _on_grid(place: Fraction) -> Fraction:
    return min((round(place / grid) * grid for grid in GRIDS), key=lambda near: abs(near - place))


def _names(document: TakeDocument) -> dict[str, Spelled]:
    line = sorted(document.notes, key=lambda item: (item.note.onset_s, -item.note.midi, item.id))
    spelled = spell([item.note.midi for item in line], document.key)
    return {item.id: name for item, name in zip(line, spelled, strict=True)}


def _with_pickup(rhythm: Rhythm, sounds: Sequence[Sound]) -> Rhythm:
    """The same rhythm with a pickup bar long enough for what was written before bar 1."""
    needed = max(rhythm.pickup_beats, -sounds[0].start) if sounds else Fraction(0)
    if needed % Fraction(1, 8):
        needed = Fraction(math.ceil(needed))
    return replace(rhythm, pickup_beats=min(needed, rhythm.meter.bar_beats - GRIDS[0]))


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
