"""Short lines for the tests of harmony: pitches in quarters from the downbeat, as they sound."""

from __future__ import annotations

from fractions import Fraction

from transcribe.harmony.sounding import Sounded, strength
from transcribe.rhythm.rhythm import Meter, Rhythm

BARS = Rhythm(120.0, Meter(4, 4), 0.0)


def line(*steps: object, length: str = "1") -> tuple[Sounded, ...]:
    """One step after the other: a pitch, pitches struck together, or (pitches, length) with a length in quarters."""
    notes: list[Sounded] = []
    start = Fraction(0)
    for step in steps:
        pitches, quarters = step if isinstance(step, tuple) and isinstance(step[-1], str) else (step, length)
        lasting = Fraction(quarters)
        for pitch in sorted(pitches) if isinstance(pitches, tuple) else (pitches,):
            name = f"n{len(notes) + 1}"
            notes.append(Sounded(name, pitch, pitch, start, lasting, start + lasting, strength(start, BARS)))
        start += lasting
    return tuple(notes)
