"""Sounds of a voice to events bar by bar: full bars, ties over bar lines, a pickup that keeps its place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from transcribe.document.model import TakeNote
from transcribe.rhythm.rhythm import Rhythm
from transcribe.score.bent import Names, head_bends
from transcribe.score.score import Bar, Event, ScoreNote
from transcribe.score.snap import FINE
from transcribe.score.split import Piece, Span, write_spans
from transcribe.score.voices import Sound, Voices


def with_pickup(rhythm: Rhythm, voices: Voices) -> tuple[Rhythm, Voices, Fraction]:
    """Return the rhythm with a pickup bar as long as what is written before bar 1 needs.

    One as long as a bar becomes bar 1: then all moves later, by what is returned last, in quarters.
    """
    before = [sound for sound in (*voices.upper, *voices.lower) if sound.start < 0]
    lead = max([rhythm.pickup_beats, *(-sound.start for sound in before)])
    edges = [edge for sound in before for edge in (sound.start, sound.end)]
    if lead % FINE or any(edge % FINE for edge in edges):  # a triplet is written whole
        lead = Fraction(math.ceil(lead))
    length = rhythm.meter.bar_beats
    if lead < length:
        return replace(rhythm, pickup_beats=lead), voices, Fraction(0)
    upper, lower = (tuple(_later(sound, length) for sound in voice) for voice in (voices.upper, voices.lower))
    return replace(rhythm, pickup_beats=Fraction(0)), replace(voices, upper=upper, lower=lower), length


def _later(sound: Sound, by: Fraction) -> Sound:
    return replace(sound, start=sound.start + by, end=sound.end + by)


def write_bars(voices: Voices, names: Mapping[str, Names], rhythm: Rhythm) -> tuple[Bar, ...]:
    """Return the bars, the pickup bar first as number 0. A bar has a second voice only where something sounds in it."""
    length = rhythm.meter.bar_beats
    last_end = max((sound.end for sound in (*voices.upper, *voices.lower)), default=length)
    edges = [(0, -rhythm.pickup_beats, Fraction(0))] if rhythm.pickup_beats > 0 else []
    for number in range(1, max(1, math.ceil(last_end / length)) + 1):
        edges.append((number, (number - 1) * length, number * length))
    bars = []
    above, below = _Reader(voices.upper), _Reader(voices.lower)
    for number, start, end in edges:
        upper, lower = above.inside(start, end), below.inside(start, end)
        written = [_voice(upper, start, end, names, rhythm)]
        if lower:
            written.append(tuple(_rest_hidden(event) for event in _voice(lower, start, end, names, rhythm)))
        bars.append(Bar(number, end - start, tuple(written)))
    return tuple(bars)


class _Reader:
    """Gives the sounds of one voice bar by bar, in one pass."""

    def __init__(self, sounds: Sequence[Sound]) -> None:
        self._sounds = sounds
        self._at = 0

    def inside(self, start: Fraction, end: Fraction) -> list[Sound]:
        """Return what sounds between two bar lines; asked for in order of time."""
        while self._at < len(self._sounds) and self._sounds[self._at].end <= start:
            self._at += 1
        found = []
        for sound in self._sounds[self._at :]:
            if sound.start >= end:
                break
            found.append(sound)
        return found


def _rest_hidden(event: Event) -> Event:
    """The upper voice shows where nothing sounds; a rest below it would only be one sign more."""
    return replace(event, hidden=True) if event.is_rest else event


def _voice(
    sounds: Sequence[Sound], start: Fraction, end: Fraction, names: Mapping[str, Names], rhythm: Rhythm
) -> tuple[Event, ...]:
    downbeat = end - rhythm.meter.bar_beats  # where a full bar would begin: the pickup keeps its place in the bar
    pieces = write_spans(list(_spans(sounds, start, end, downbeat)), rhythm.meter)
    return tuple(_event(piece, start - downbeat, downbeat, sounds, names, rhythm.beat_s) for piece in pieces)


def _spans(sounds: Sequence[Sound], start: Fraction, end: Fraction, downbeat: Fraction) -> Iterator[Span]:
    at = start
    for index, sound in enumerate(sounds):
        low, high = max(sound.start, start), min(sound.end, end)
        if at < low:
            yield Span(at - downbeat, low - downbeat, None)
        yield Span(low - downbeat, high - downbeat, index)
        at = high
    if at < end:
        yield Span(at - downbeat, end - downbeat, None)


def _event(
    piece: Piece, lead: Fraction, downbeat: Fraction, sounds: Sequence[Sound], names: Mapping[str, Names], beat_s: float
) -> Event:
    notes: tuple[ScoreNote, ...] = ()
    if piece.sound is not None:
        sound = sounds[piece.sound]
        at = downbeat + piece.start
        notes = tuple(
            _note(item, names[item.id], (at, at + piece.value.quarters), sound, beat_s) for item in sound.notes
        )
    return Event(piece.start - lead, piece.value, notes, piece.tuplet_starts, piece.tuplet_stops)


def _note(item: TakeNote, names: Names, head: tuple[Fraction, Fraction], sound: Sound, beat_s: float) -> ScoreNote:
    sounding, bent = head_bends(item, names, head, (sound.start, sound.end), beat_s)
    return ScoreNote(item, names.fretted, sound.start != head[0], sound.end != head[1], sounding, bent,
                     names.touched_fret)  # fmt: skip
