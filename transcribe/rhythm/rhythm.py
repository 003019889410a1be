"""Meter, Rhythm and Timing: the values that place a note in a bar."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal

from transcribe.errors import RhythmError, SettingsError

Feel = Literal["straight", "swing"]
TempoSource = Literal["given", "click", "estimated"]
BEAT_UNITS = (1, 2, 4, 8, 16)


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature."""

    beats: int
    unit: int  # 4 for quarters, 8 for eighths

    def __post_init__(self) -> None:
        if not 1 <= self.beats <= 32 or self.unit not in BEAT_UNITS:
            raise SettingsError(
                f"no such meter: {self.beats}/{self.unit}", "Write it as beats over unit, for example 4/4, 3/4 or 6/8."
            )

    @property
    def bar_beats(self) -> Fraction:
        """Length of a bar in quarter notes."""
        return Fraction(self.beats * 4, self.unit)

    def __str__(self) -> str:
        return f"{self.beats}/{self.unit}"


def meter_from_text(text: str) -> Meter:
    """Return the meter written as ``4/4``; raises SettingsError with how to write it.

    >>> meter_from_text("6/8").bar_beats
    Fraction(3, 1)
    """
    beats, slash, unit = text.strip().partition("/")
    if not (slash and beats.isdigit() and unit.isdigit()):
        raise SettingsError(f"no such meter: {text!r}", "Write it as beats over unit, for example 4/4, 3/4 or 6/8.")
    return Meter(int(beats), int(unit))


@dataclass(frozen=True, slots=True)
class Rhythm:
    """The grid of one take: a steady tempo, a meter, and where bar 1 begins."""

    tempo_bpm: float  # quarter notes a minute
    meter: Meter
    first_downbeat_s: float  # start of bar 1, from the start of the file; may be below 0
    pickup_beats: Fraction = Fraction(0)  # quarter notes before bar 1
    feel: Feel = "straight"
    tempo_source: TempoSource = "estimated"
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept

    def __post_init__(self) -> None:
        if not self.tempo_bpm > 0:
            raise RhythmError(f"a tempo must be above 0 bpm; got {self.tempo_bpm}")
        if not 0 <= self.pickup_beats < self.meter.bar_beats:
            raise RhythmError(f"a pickup is shorter than a bar of {self.meter}; got {self.pickup_beats} quarters")

    @property
    def beat_s(self) -> float:
        """Length of a quarter note in seconds."""
        return 60.0 / self.tempo_bpm


@dataclass(frozen=True, slots=True)
class Timing:
    """Where one note is written: exact fractions of a quarter note."""

    bar: int  # 0 is the pickup bar
    beat: Fraction  # offset inside the bar; in bar 0 from the start of the (short) pickup bar
    value: Fraction  # written length; may run over the bar line (the score ties it)

    def __post_init__(self) -> None:
        if self.bar < 0 or self.beat < 0 or self.value <= 0:
            raise RhythmError(f"a written note has bar and beat at or above 0 and a length above 0; got {self}")
