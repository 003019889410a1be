"""What the sound of each note says about the string it was played on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.once import resampled
from transcribe.audio.recording import Recording
from transcribe.evidence.string_stretch import StretchReading, read_string_stretch
from transcribe.notes.driven_clue import driven_readings
from transcribe.notes.note import Note
from transcribe.notes.string_pitch import AFTER_ATTACK_S, cents_at, says_its_string, settled_for_bend
from transcribe.units import hz_from_midi

RATE_HZ = 22050  # no partial that can be read lies above 9 kHz
LONGEST_S = 0.7
BRIGHT_S = 0.18  # high partials die first: a short look at the start is read before a long one
SURE_ENOUGH = 0.05  # standard error of log B; notes on one string differ by more
SHORTEST_S = 0.07
BESIDE_STEP_SAMPLES = 64  # 3 ms at the rate above: contours are read every 10 ms


def string_readings(
    recording: Recording, notes: Sequence[Note], *, tuning_semitones: float = 0.0
) -> tuple[tuple[StretchReading, ...], ...]:
    """Return for each note the ways to read the stretch of its partials, the likeliest first.

    ``tuning_semitones`` is how far the guitar stands above A = 440 Hz. Dead notes and harmonics say nothing. In an
    overdriven take the notes that sound alone are read as distortion leaves them.
    """
    heard = as_read(recording)
    driven = driven_readings(heard, notes, tuning_semitones)
    return tuple(
        driven[number] if number in driven else stretch_readings(heard, note, notes, tuning_semitones)
        for number, note in enumerate(notes)
    )


def as_read(recording: Recording) -> Recording:
    """Return the recording with no more samples than partials need."""
    rate = min(recording.rate_hz, RATE_HZ)
    return Recording(resampled(recording, rate), rate, recording.start_s)


def stretch_readings(
    recording: Recording, note: Note, notes: Sequence[Note], tuning_semitones: float
) -> tuple[StretchReading, ...]:
    """Return the ways to read the stretch of one note's partials, the likeliest first, among all notes of a take.

    A short look at the note's bright start, or where that says little the surer of it and a long one.
    """
    if not says_its_string(note):
        return ()
    first_s = note.onset_s + AFTER_ATTACK_S
    told: tuple[StretchReading, ...] = ()
    for from_s, until_s in [(first_s, note.offset_s), *_still_parts(note, first_s)]:
        for most_s in (BRIGHT_S, LONGEST_S):
            last_s = min(until_s, from_s + most_s)
            if last_s - from_s < SHORTEST_S or (told and told[0].error < SURE_ENOUGH):
                break
            look = _look(recording, note, notes, from_s, last_s, tuning_semitones)
            if look and (not told or look[0].error < told[0].error):
                told = look
    return told


def _still_parts(note: Note, first_s: float) -> list[tuple[float, float]]:
    """Where a bent string whose pitch nobody followed stands still: before the push, and while it is held."""
    if not note.bends or note.contour is not None or note.vibrato or note.slide:
        return []
    steps = sorted(note.bends, key=lambda bend: bend.start_s)
    ends = [first_s, *(bend.reach_s for bend in steps)]
    starts = [*(bend.start_s for bend in steps), note.offset_s]
    return [(max(begin, first_s), end) for begin, end in zip(ends, starts, strict=True)]


def _look(
    recording: Recording,
    note: Note,
    notes: Sequence[Note],
    first_s: float,
    last_s: float,
    tuning_semitones: float,
) -> tuple[StretchReading, ...]:
    rate = recording.rate_hz
    begin = max(0, round((first_s - recording.start_s) * rate))
    sound = recording.samples[begin : round((last_s - recording.start_s) * rate)]
    if sound.size < 16:
        return ()
    times_s = recording.start_s + (begin + np.arange(sound.size)) / rate
    cents = cents_at(note, times_s)
    if cents is None:
        return ()
    pitch_hz = np.asarray(hz_from_midi(note.midi + tuning_semitones + cents / 100.0), dtype=np.float64)
    middle_cents = float(np.median(cents))
    middle_hz = float(hz_from_midi(note.midi + tuning_semitones + middle_cents / 100.0))
    others = tuple(
        _span_beside(other, times_s[::BESIDE_STEP_SAMPLES], note.midi + cents[::BESIDE_STEP_SAMPLES] / 100.0, middle_hz)
        for other in notes
        if other.id != note.id and other.onset_s < last_s and other.offset_s > first_s
    )
    told = read_string_stretch(sound, rate, pitch_hz, others)
    return settled_for_bend(told, middle_cents)


def _span_beside(
    other: Note, times_s: NDArray[np.float64], own_midi: NDArray[np.float64], middle_hz: float
) -> tuple[float, float]:
    """From where to where another string's pitch moves, in hertz, once the note's own (at each time) is held still.

    A string that bends up to the note's pitch shares all its partials from there on: unison bends.
    """
    cents = cents_at(other, times_s)
    if cents is None:
        reached = [other.highest_bend_cents if other.bends else 0.0, 0.0]
        if other.vibrato is not None:
            reached += [other.vibrato.extent_cents, -other.vibrato.extent_cents]
        if other.slide is not None:
            reached += [other.slide.cents]
        apart = [
            part + np.ptp(own_midi) * side for part in (min(reached) / 100, max(reached) / 100) for side in (-1, 1)
        ]
        steps = np.array(apart) + other.midi - np.median(own_midi)
    else:
        steps = other.midi + cents / 100.0 - own_midi
    return middle_hz * 2 ** (float(steps.min()) / 12), middle_hz * 2 ** (float(steps.max()) / 12)
