"""Seconds to musical time."""

from transcribe.rhythm.beat_times import BeatTimes
from transcribe.rhythm.beats import fit_rhythm
from transcribe.rhythm.doubts import rhythm_doubts
from transcribe.rhythm.quantize import quantize
from transcribe.rhythm.rhythm import Meter, Rhythm, RhythmReading, Timing, meter_from_text

__all__ = [
    "BeatTimes",
    "Meter",
    "Rhythm",
    "RhythmReading",
    "Timing",
    "fit_rhythm",
    "meter_from_text",
    "quantize",
    "rhythm_doubts",
]
