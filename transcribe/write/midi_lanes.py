"""Who plays when: seconds to ticks, and one channel a string."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from transcribe.document.model import TakeDocument, TakeNote
from transcribe.rhythm.rhythm import Rhythm
from transcribe.settings import MidiSettings
from transcribe.write.pitch_curve import Curve, pitch_curve

# MIDI 1.0 Detailed Specification and Standard MIDI Files 1.0.
CHANNELS = tuple(channel for channel in range(16) if channel != 9)  # channel 10 (9 on the wire) is for drums in GM 1
LONGEST_QUARTER_US = 0xFFFFFF  # the tempo event has three bytes
LAST_TICK = 0x0FFFFFFF  # the largest delta time four bytes can hold


@dataclass(frozen=True, slots=True)
class Clock:
    """Seconds to ticks. The tempo is what the file's three bytes can say, so that no error adds up."""

    quarter_us: int
    ticks_per_quarter: int
    origin_s: float

    def tick(self, time_s: float) -> int:
        """Return the tick nearest to a time of the take, 0 at the least."""
        quarters = (time_s - self.origin_s) * 1e6 / self.quarter_us
        return min(max(0, round(quarters * self.ticks_per_quarter)), LAST_TICK)

    def ticks(self, length_s: float) -> int:
        """Return a length in ticks."""
        return round(length_s * 1e6 / self.quarter_us * self.ticks_per_quarter)


@dataclass(frozen=True, slots=True)
class Played:
    """A note with its ticks and its moving pitch."""

    take: TakeNote
    on: int
    off: int
    curve: Curve


@dataclass(frozen=True, slots=True)
class Lane:
    """One channel: notes in order, none overlapping the next."""

    channel: int
    name: str
    played: tuple[Played, ...]


def clock_of(document: TakeDocument, settings: MidiSettings) -> Clock:
    """Return the clock of a take: its tempo, and tick 0 at a bar line that no note precedes."""
    rhythm = document.rhythm
    tempo_bpm = rhythm.tempo_bpm if rhythm else settings.plain_bpm
    quarter_us = min(max(1, round(60e6 / tempo_bpm)), LONGEST_QUARTER_US)
    return Clock(quarter_us, settings.ticks_per_quarter, _origin_s(document, rhythm) if rhythm else 0.0)


def _origin_s(document: TakeDocument, rhythm: Rhythm) -> float:
    """Return the last bar line at or before bar 1 that no note precedes, in seconds."""
    first_s = min((take.note.onset_s for take in document.notes), default=rhythm.first_downbeat_s)
    bar_s = float(rhythm.meter.bar_beats) * rhythm.beat_s
    bars = max(0, math.ceil((rhythm.first_downbeat_s - first_s) / bar_s - 1e-9))
    return rhythm.first_downbeat_s - bars * bar_s


def lanes_of(document: TakeDocument, clock: Clock, settings: MidiSettings) -> tuple[Lane, ...]:
    """Return the channels in use. A string plays one note at a time: the next note ends the one before it."""
    strings = len(document.instrument.open_strings_midi)
    queues: dict[int, list[TakeNote]] = {channel: [] for channel in CHANNELS}
    for take in sorted(document.notes, key=lambda take: (take.note.onset_s, -take.note.midi)):
        on = clock.tick(take.note.onset_s)
        channel = CHANNELS[take.placement.string - 1] if take.placement else None
        if channel is None or (queues[channel] and clock.tick(queues[channel][-1].note.onset_s) == on):
            channel = _spare(queues, CHANNELS[strings:], on, clock)
        queues[channel].append(take)
    lanes = []
    for number, channel in enumerate(CHANNELS):
        takes = queues[channel]
        if takes:
            name = f"String {number + 1}" if number < strings else f"No string {number - strings + 1}"
            lanes.append(Lane(channel, name, tuple(_in_turn(takes, clock, settings))))
    return tuple(lanes)


def _spare(queues: dict[int, list[TakeNote]], spare: Sequence[int], on: int, clock: Clock) -> int:
    """Return the first spare channel that is silent by now, else the one that falls silent first."""

    def busy_until(channel: int) -> tuple[bool, int]:
        if not queues[channel]:
            return False, 0
        last = queues[channel][-1].note
        start = clock.tick(last.onset_s)
        return start == on, max(start + 1, clock.tick(last.offset_s))

    silent = [channel for channel in spare if busy_until(channel)[1] <= on]
    return silent[0] if silent else min(spare, key=busy_until)


def _in_turn(takes: Sequence[TakeNote], clock: Clock, settings: MidiSettings) -> Iterator[Played]:
    for index, take in enumerate(takes):
        note = take.note
        last = index + 1 == len(takes)
        end_s = note.offset_s if last else min(note.offset_s, max(note.onset_s, takes[index + 1].note.onset_s))
        on = clock.tick(note.onset_s)
        yield Played(take, on, max(on + 1, clock.tick(end_s)), pitch_curve(note, end_s, settings))
