"""What an overdriven take says about the strings of the notes that sound alone in it.

Where several strings sound, distortion makes sums and differences across them; there nothing is read here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.evidence.driven_stretch import Singles, cluster_rows, read_driven_stretch
from transcribe.evidence.string_stretch import StretchReading
from transcribe.notes.note import Note
from transcribe.notes.string_pitch import AFTER_ATTACK_S, cents_at, says_its_string, settled_for_bend
from transcribe.units import hz_from_midi

SHORTEST_S, LONGEST_S = 0.12, 0.7  # of a look; the network learned from 0.15 to 0.72 s
ASKED = 6  # notes, spread over a take, that tell whether it is overdriven
# Their mean chance of being so. Licks on the guitars of ``tests/voice_material.py`` through its amplifier mostly lie
# above .95, clean and by telephone mostly below .7.
DRIVEN = 0.9

Span = tuple[float, float]
Look = tuple[Singles, float, float]  # rows and periods of ``cluster_rows``, and how far the string is pushed, in cents


def driven_readings(
    recording: Recording, notes: Sequence[Note], tuning_semitones: float
) -> dict[int, tuple[StretchReading, ...]]:
    """Return the ways to read the stretch of notes by their numbers; empty where the take is not overdriven.

    ``tuning_semitones`` is how far the guitar stands above A = 440 Hz.
    """
    spans = spans_alone(notes)
    asked = list(spans)[:: max(1, -(-len(spans) // ASKED))]
    looks = _looks(recording, notes, spans, asked, tuning_semitones)
    if not looks or float(np.mean([read_driven_stretch(*look[:2])[0] for look in looks.values()])) < DRIVEN:
        return {}
    looks |= _looks(recording, notes, spans, set(spans) - set(asked), tuning_semitones)
    return {
        number: settled_for_bend(read_driven_stretch(rows, periods)[1], cents)
        for number, (rows, periods, cents) in looks.items()
    }


def spans_alone(notes: Sequence[Note]) -> dict[int, Span]:
    """Return from when to when each note that sounds alone after its attack can be looked at, by its number."""
    onset_s = np.array([note.onset_s for note in notes])
    offset_s = np.array([note.offset_s for note in notes])
    found = {}
    for number, note in enumerate(notes):
        if not says_its_string(note):
            continue
        first_s, last_s = note.onset_s + AFTER_ATTACK_S, min(note.offset_s, note.onset_s + AFTER_ATTACK_S + LONGEST_S)
        beside = (onset_s < last_s) & (offset_s > first_s)
        beside[number] = False
        last_s = min(last_s, float(onset_s[beside].min(initial=np.inf)))
        if last_s - first_s >= SHORTEST_S:
            found[number] = (first_s, last_s)
    return found


def _looks(
    recording: Recording, notes: Sequence[Note], spans: dict[int, Span], numbers: Iterable[int], tuning_semitones: float
) -> dict[int, Look]:
    """What the chosen notes show, those left out whose pitch is not known or that are too short."""
    found, rate = {}, recording.rate_hz
    for number in numbers:
        first_s, last_s = spans[number]
        begin = max(0, round((first_s - recording.start_s) * rate))
        sound = recording.samples[begin : round((last_s - recording.start_s) * rate)]
        if sound.size < SHORTEST_S * rate / 2:
            continue
        cents = cents_at(notes[number], recording.start_s + (begin + np.arange(sound.size)) / rate)
        if cents is None:
            continue
        pitch_hz = np.asarray(hz_from_midi(notes[number].midi + tuning_semitones + cents / 100.0), dtype=np.float64)
        told = cluster_rows(sound, rate, pitch_hz)
        if told is not None:
            found[number] = (*told, float(np.median(cents)))
    return found
