"""Notes in seconds to written places and lengths in a bar."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.notes.note import Note
from transcribe.rhythm.beat_times import BeatTimes, straightened
from transcribe.rhythm.follow import Guess, follow
from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.onsets import Moment, moments
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing
from transcribe.rhythm.swing import unswung
from transcribe.settings import RhythmSettings

LAST_LONGEST = Fraction(4)  # a last note that rings is written no longer than a whole note
SHORT_MUTES = ("palm", "dead")


@dataclass(frozen=True, slots=True)
class Written:
    """A moment with its place, counted in quarters from the first downbeat, and its length."""

    moment: Moment
    start: Fraction
    length: Fraction
    stray_s: float  # how late (above 0) or early it was played


def quantize(notes: Sequence[Note], rhythm: Rhythm, settings: RhythmSettings | None = None) -> dict[str, Timing]:
    """Return the written bar, beat and value of every note, by its id.

    Notes that start together share a place; no two others do. A note is written up to the next one unless a silence
    long enough for a rest follows it.
    """
    settings = settings or RhythmSettings()
    return {
        id_: timing_at(item.start, item.length, rhythm)
        for item in write_moments(notes, rhythm, settings)
        for id_ in item.moment.ids
    }


def write_moments(notes: Sequence[Note], rhythm: Rhythm, settings: RhythmSettings) -> tuple[Written, ...]:
    """Return every moment of the notes with its written place and length, in order."""
    heard = moments(notes, settings)
    if not heard:
        return ()
    quarter_s, downbeat_s, pulse = rhythm.beat_s, rhythm.first_downbeat_s, pulse_beats(rhythm.meter)
    if rhythm.beats_s:
        beats = BeatTimes(rhythm.beats_s, starts_bar=False)
        heard, downbeat_s = straightened(heard, beats), float(beats.evened(downbeat_s))
    guess = Guess(quarter_s, pulse, downbeat_s=downbeat_s, earliest=-rhythm.pickup_beats)
    (reading,) = follow(heard, [guess], settings, steady=rhythm.tempo_source != "estimated", beam=settings.beam)
    played = reading.places()
    places = unswung(played) if rhythm.feel == "swing" else played
    if places[0] < -rhythm.pickup_beats:  # a pickup that leaves no room for a plain eighth
        places = (played[0], *places[1:])
    written = []
    times = zip(heard, reading.quarters_s, strict=True)
    for index, (moment, local_s) in enumerate(times):
        sounded = (moment.end_s - moment.onset_s) / local_s
        if index + 1 < len(places):
            room = places[index + 1] - places[index]
            sounded *= float(room / (played[index + 1] - played[index]))
            length = written_length(moment, places[index], room, sounded, local_s, settings)
        else:
            length = _last_length(sounded, places[index], rhythm.meter)
        stray_s = moment.onset_s - _expected_s(reading.times_s, reading.ticks, index)
        written.append(Written(moment, places[index], length, stray_s))
    return tuple(written)


def _expected_s(times_s: Sequence[float], ticks: Sequence[int], index: int) -> float:
    """Return when a place would sound by the notes around it: the clock itself has moved toward what it heard."""
    if index == 0 or index + 1 == len(ticks):
        return times_s[index]
    before, after = index - 1, index + 1
    share = (ticks[index] - ticks[before]) / (ticks[after] - ticks[before])
    return times_s[before] + share * (times_s[after] - times_s[before])


def written_length(
    moment: Moment, place: Fraction, room: Fraction, sounded: float, quarter_s: float, settings: RhythmSettings
) -> Fraction:
    """Return the length to write, in quarters: all the ``room`` to the next moment, or less when a real rest follows.

    ``sounded`` is how many quarters it was heard. A silence counts as a rest when it is long by the clock and a fair
    share of the room; a note damped on purpose (palm mute, dead) is written to the next one all the same.
    """
    damped = all(note.mute in SHORT_MUTES for note in moment.notes) and room <= 1
    if damped or any(note.let_ring for note in moment.notes):
        return room
    silence = float(room) - sounded
    if silence * quarter_s < settings.shortest_rest_s or silence < settings.rest_share * float(room):
        return room
    least = 0.8 * settings.shortest_rest_s / quarter_s  # a rest may be written a little shorter than it was
    fitting = [end for end in _ends(place, place + room) if float(place + room - end) >= least]
    if not fitting:
        return room
    return min(fitting, key=lambda end: (abs(float(end - place) - sounded) + _end_cost(end), end)) - place


def _ends(place: Fraction, following: Fraction) -> list[Fraction]:
    """Where a note may stop before the next: sixteenths, and thirds of its own beat when it stands on one."""
    step = Fraction(1, 3) if place % Fraction(1, 4) and place % Fraction(1, 3) == 0 else Fraction(1, 4)
    ends, end = [], (place // step + 1) * step
    while end < following:
        if step == Fraction(1, 4) or end <= math.floor(place) + 1 or end.denominator == 1:
            ends.append(end)
        end += step
    return ends


def _end_cost(end: Fraction) -> float:
    """How much less readable it is to stop here, in quarters of misfit."""
    if end.denominator == 1:
        return 0.0
    return 0.1 if end.denominator in (2, 3) else 0.25


def _last_length(sounded: float, place: Fraction, meter: Meter) -> Fraction:
    """The last note stops on a beat or half-beat; ringing on, it fills its bar or a whole note, no more."""
    longest = max(LAST_LONGEST, meter.bar_beats)
    bar_end = (place // meter.bar_beats + 1) * meter.bar_beats
    if place + Fraction(sounded) >= bar_end - Fraction(1, 2) and bar_end - place >= 1:
        return min(bar_end - place, longest)
    ends = [Fraction(index, 2) for index in range(math.floor(place * 2) + 1, math.ceil((place + longest) * 2) + 1)]
    if place % Fraction(1, 4):
        ends = [end for end in ends if end.denominator == 1]
    best = min(ends, key=lambda end: abs(float(end - place) - sounded) + _end_cost(end))
    return min(best - place, longest)


def timing_at(start: Fraction, length: Fraction, rhythm: Rhythm) -> Timing:
    """Return a place counted from the first downbeat as bar and beat; before it lies the pickup bar, number 0."""
    if start < 0:
        return Timing(0, start + rhythm.pickup_beats, length)
    bar, beat = divmod(start, rhythm.meter.bar_beats)
    return Timing(int(bar) + 1, beat, length)


def place_of(timing: Timing, rhythm: Rhythm) -> Fraction:
    """Return the place of a timing in quarters from the first downbeat; the reverse of ``timing_at``."""
    if timing.bar == 0:
        return timing.beat - rhythm.pickup_beats
    return (timing.bar - 1) * rhythm.meter.bar_beats + timing.beat


def beats_of(timings: Mapping[str, Timing], rhythm: Rhythm) -> dict[str, Fraction]:
    """Return the places of timings, by id, in beats from the first downbeat: a dotted quarter each in 6/8.

    >>> beats_of({"n1": Timing(2, Fraction(1, 2), Fraction(1, 2))}, Rhythm(100.0, Meter(4, 4), 0.0))
    {'n1': Fraction(9, 2)}
    """
    pulse = pulse_beats(rhythm.meter)
    return {id_: place_of(timing, rhythm) / pulse for id_, timing in timings.items()}
