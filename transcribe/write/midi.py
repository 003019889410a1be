"""A take as a Standard MIDI File: played as it was played, one channel a string, true bends."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from io import BytesIO
from typing import TYPE_CHECKING

from transcribe.document.model import TakeDocument
from transcribe.settings import MidiSettings
from transcribe.write.midi_lanes import LAST_TICK, Clock, Lane, Played, clock_of, lanes_of

if TYPE_CHECKING:
    import mido

CENTRE, TOP = 8192, 16383  # of the 14-bit pitch bend (MIDI 1.0 Detailed Specification)

# What comes first when several messages share a tick.
_SET_UP, _NOTE_OFF, _BEND, _PROGRAM, _NOTE_ON = range(5)
_Timed = tuple[int, int, "mido.Message"]


def midi_bytes(document: TakeDocument, settings: MidiSettings | None = None) -> bytes:
    """Return the take as a type 1 Standard MIDI File.

    Notes keep their played times. Tick 0 is the start of bar 1, or so many whole bars earlier that no note comes
    before it; with no rhythm it is the start of the file, at 120 bpm. String 1 is channel 1, string 2 channel 2, and so
    on past channel 10; notes with no string take the channels after those. Pitch moves by pitch bend, within a range
    that each channel is told (RPN 0); how far the guitar stood from concert pitch is left out.

    References
    ----------
    MIDI 1.0 Detailed Specification: pitch bend, registered parameters. Standard MIDI Files 1.0. General MIDI 1.
    """
    import mido

    settings = settings or MidiSettings()
    clock = clock_of(document, settings)
    lanes = lanes_of(document, clock, settings)
    range_semitones = _bend_range(lanes, settings)
    loudest_db = max((take.note.level_db for take in document.notes if take.note.level_db is not None), default=0.0)

    file = mido.MidiFile(type=1, ticks_per_beat=settings.ticks_per_quarter)
    file.tracks.append(_conductor(document, clock))
    for lane in lanes:
        events = [*_set_up(lane.channel, range_semitones, settings)]
        events += _play(lane, range_semitones, loudest_db, clock, settings)
        file.tracks.append(_track(lane.name, events))
    stream = BytesIO()
    file.save(file=stream)
    return stream.getvalue()


def _bend_range(lanes: Sequence[Lane], settings: MidiSettings) -> int:
    """Return the narrowest bend range in semitones that holds every pitch of the take."""
    widest = max((float(abs(played.curve[1]).max()) for lane in lanes for played in lane.played), default=0.0)
    fitting = (semitones for semitones in settings.bend_ranges if widest <= 100.0 * semitones)
    return next(fitting, settings.bend_ranges[-1])


def _conductor(document: TakeDocument, clock: Clock) -> mido.MidiTrack:
    """Return the track of tempo, meter and key."""
    import mido

    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=clock.quarter_us)])
    if document.rhythm:
        meter = document.rhythm.meter
        compound = meter.beats > 3 and meter.beats % 3 == 0 and meter.unit > 4
        click = Fraction(96, meter.unit) * (3 if compound else 1)  # MIDI clocks, 24 a quarter, from click to click
        track.append(
            mido.MetaMessage(
                "time_signature", numerator=meter.beats, denominator=meter.unit, clocks_per_click=int(click)
            )
        )
    if document.key:
        key = document.key.tonic + ("m" if document.key.mode == "minor" else "")
        track.append(mido.MetaMessage("key_signature", key=key))
    track.append(mido.MetaMessage("end_of_track"))
    return track


def _set_up(channel: int, range_semitones: int, settings: MidiSettings) -> Iterator[_Timed]:
    """Yield what a channel is told at tick 0: its sound, its bend range (RPN 0, then the null RPN), no bend."""
    import mido

    yield 0, _SET_UP, mido.Message("program_change", channel=channel, program=settings.program)
    for control, value in ((101, 0), (100, 0), (6, range_semitones), (38, 0), (101, 127), (100, 127)):
        yield 0, _SET_UP, mido.Message("control_change", channel=channel, control=control, value=value)
    yield 0, _SET_UP, mido.Message("pitchwheel", channel=channel, pitch=0)


def _play(
    lane: Lane, range_semitones: int, loudest_db: float, clock: Clock, settings: MidiSettings
) -> Iterator[_Timed]:
    import mido

    program = settings.program
    for index, played in enumerate(lane.played):
        note = played.take.note
        wanted = settings.program if note.mute == "none" else settings.muted_program
        if wanted != program:
            program = wanted
            yield played.on, _PROGRAM, mido.Message("program_change", channel=lane.channel, program=program)
        bend = 0
        for tick, bend in _bend_messages(played, range_semitones, clock, settings):
            yield tick, _BEND, mido.Message("pitchwheel", channel=lane.channel, pitch=bend)
        velocity = _velocity(note.level_db, loudest_db, settings)
        key = {"channel": lane.channel, "note": int(note.midi)}
        yield played.on, _NOTE_ON, mido.Message("note_on", velocity=velocity, **key)
        yield played.off, _NOTE_OFF, mido.Message("note_off", velocity=64, **key)
        # The next note sets its own bend; where there is time before it, the string goes back to rest.
        rest = min(played.off + clock.ticks(settings.ring_out_s), LAST_TICK)
        following = lane.played[index + 1].on if index + 1 < len(lane.played) else LAST_TICK + 1
        if bend and rest < following:
            yield rest, _BEND, mido.Message("pitchwheel", channel=lane.channel, pitch=0)


def _bend_messages(
    played: Played, range_semitones: int, clock: Clock, settings: MidiSettings
) -> Iterator[tuple[int, int]]:
    """Yield (tick, bend from -8192 to 8191) for one note: one at its start, then one for every move worth sending."""
    times_s, cents = played.curve
    sent_cents, pending = math.inf, None
    last_tick = -1
    for time_s, value in zip(times_s.tolist(), cents.tolist(), strict=True):
        tick = max(played.on, clock.tick(time_s))
        if tick >= played.off:
            break
        pending = (tick, value)
        if tick > last_tick and abs(value - sent_cents) >= settings.bend_step_cents:
            yield tick, bend_value(value, range_semitones) - CENTRE
            sent_cents, last_tick, pending = value, tick, None
    if pending and pending[0] > last_tick and pending[1] != sent_cents:
        yield pending[0], bend_value(pending[1], range_semitones) - CENTRE


def bend_value(cents: float, range_semitones: int) -> int:
    """Return the 14-bit pitch bend for an interval: 8192 is none, 0 and 16383 the ends of the range.

    >>> bend_value(100.0, 2), bend_value(200.0, 2), bend_value(-200.0, 2)
    (12288, 16383, 0)
    """
    return min(max(0, CENTRE + round(CENTRE * cents / (100.0 * range_semitones))), TOP)


def _velocity(level_db: float | None, loudest_db: float, settings: MidiSettings) -> int:
    """Return a key velocity of 1 to 127 that sounds as much below the loudest as the note did.

    General MIDI's advice to makers of sound modules: level in dB goes as 40 log10(velocity / 127) (from memory).
    """
    if level_db is None or not math.isfinite(level_db):
        return settings.plain_velocity
    return min(max(1, round(settings.loudest_velocity * 10 ** ((level_db - loudest_db) / 40.0))), 127)


def _track(name: str, events: Sequence[_Timed]) -> mido.MidiTrack:
    """Return a track: events in order of tick, with the time since the one before."""
    import mido

    track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
    last_tick = 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=tick - last_tick))
        last_tick = tick
    track.append(mido.MetaMessage("end_of_track"))
    return track
