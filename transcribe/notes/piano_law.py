"""Whether the notes of a take are stretched as a piano's strings are: higher and higher on one curve.

On a guitar the stretch of the partials falls with every change to a thinner string and rises along each, so that the
notes of a lick lie scattered; on a piano all lie near one line, about 2.6e-4 at A below middle C and growing by 9 % a
semitone (measured on sampled pianos; order of size after H. Fletcher, J. Acoust. Soc. Am. 36, 1964).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.notes.note import Note
from transcribe.notes.string_clue import as_read, stretch_readings

MOST_NOTES = 16
LEAST_SURE = 0.7
LEAST_PARTIALS, MOST_ERROR = 7, 0.12
FEWEST, LEAST_SPAN = 4, 8  # pitches read, and semitones between the lowest and the highest
LAW_MIDI, LAW_LOG, LAW_SLOPE = 57.0, float(np.log(2.6e-4)), 0.09
SCATTER, AWAY = 0.15, 0.5  # in the logarithm of the stretch: from one curve, and of that curve from a piano's


def piano_likeness(recording: Recording, notes: Sequence[Note], *, tuning_cents: float = 0.0) -> float:
    """Return 1 for notes on a piano's curve, 0 for those on none, or where too few can be read."""
    longest: dict[int, Note] = {}
    for note in notes:
        sure = note.confidence is None or note.confidence >= LEAST_SURE
        if note.bends or not sure or note.mute != "none":
            continue
        best = longest.get(note.midi)
        if best is None or note.offset_s - note.onset_s > best.offset_s - best.onset_s:
            longest[note.midi] = note
    heard = as_read(recording)
    some = sorted(longest)[:: max(1, -(-len(longest) // MOST_NOTES))]
    read = [(midi, log) for midi in some if (log := _log_stretch(heard, longest[midi], notes, tuning_cents))]
    return curve_likeness(read)


def curve_likeness(read: Sequence[tuple[float, float]]) -> float:
    """Return how near (pitch, logarithm of stretch) lie to a piano's curve, 0 to 1.

    >>> round(curve_likeness([(m, LAW_LOG + LAW_SLOPE * (m - LAW_MIDI)) for m in (48, 55, 60, 67)]), 2)
    1.0
    """
    if len(read) < FEWEST:
        return 0.0
    midi, log = (np.array(values, dtype=float) for values in zip(*read, strict=True))
    if np.ptp(midi) < LEAST_SPAN:
        return 0.0
    level = log - LAW_SLOPE * (midi - LAW_MIDI)
    middle = float(np.median(level))
    scatter = float(np.median(np.abs(level - middle)))
    return float(np.exp(-((scatter / SCATTER) ** 2) - ((middle - LAW_LOG) / AWAY) ** 2))


def _log_stretch(recording: Recording, note: Note, notes: Sequence[Note], tuning_cents: float) -> float | None:
    ways = stretch_readings(recording, note, notes, tuning_cents / 100.0)
    if not ways or ways[0].partials < LEAST_PARTIALS or ways[0].error > MOST_ERROR:
        return None
    return ways[0].log_stretch
