"""Which notes hang on one beam: by the beats of the bar."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby
from typing import Literal

from transcribe.rhythm.rhythm import Meter
from transcribe.score.score import Bar, Event

BeamMark = Literal["begin", "continue", "end", "forward hook", "backward hook"]  # MusicXML 4.0, beam-value
FLAGS = {"eighth": 1, "16th": 2, "32nd": 3}


def beam_marks(voice: Sequence[Event], bar: Bar, meter: Meter) -> list[tuple[BeamMark, ...]]:
    """Return for each event of a voice its beams, the eighths' beam first; none for rests, long and lone notes.

    Notes of one beat share a beam: a quarter, or a dotted quarter in 6/8, 9/8 and 12/8 (common practice). Rests and
    longer notes break it.
    """
    beat = beat_length(meter)
    lead = meter.bar_beats - bar.length if bar.number == 0 else Fraction(0)  # a pickup ends where a full bar would

    def group_of(index: int) -> tuple[bool, int]:
        event = voice[index]
        return not event.is_rest and event.value.type in FLAGS, (lead + event.beat) // beat

    marks: list[tuple[BeamMark, ...]] = [()] * len(voice)
    for (flagged, _), members in groupby(range(len(voice)), key=group_of):
        together = list(members)
        if flagged and len(together) > 1:
            flags = [FLAGS[voice[index].value.type] for index in together]
            for place, index in enumerate(together):
                marks[index] = tuple(_mark(flags, place, level) for level in range(1, flags[place] + 1))
    return marks


def beat_length(meter: Meter) -> Fraction:
    """Return the beat a player taps, in quarters.

    >>> beat_length(Meter(6, 8)), beat_length(Meter(4, 4))
    (Fraction(3, 2), Fraction(1, 1))
    """
    if meter.unit == 8 and meter.beats > 3 and meter.beats % 3 == 0:
        return Fraction(3, 2)
    return Fraction(4, meter.unit) if meter.unit < 4 else Fraction(1)


def _mark(flags: Sequence[int], place: int, level: int) -> BeamMark:
    before = place > 0 and flags[place - 1] >= level
    after = place + 1 < len(flags) and flags[place + 1] >= level
    if before and after:
        return "continue"
    if before or after:
        return "end" if before else "begin"
    return "forward hook" if place == 0 else "backward hook"
