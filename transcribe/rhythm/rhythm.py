"""Meter, Rhythm and Timing: the values that place a note in a bar."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
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
class RhythmReading:
    """One way to read the grid of a take, and how likely it is against the others considered."""

    tempo_bpm: float  # quarter notes a minute
    meter: Meter
    first_downbeat_s: float
    pickup_beats: Fraction = Fraction(0)
    feel: Feel = "straight"
    likely: float = 1.0  # 0 to 1
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept

    def __post_init__(self) -> None:
        _check_grid(self.tempo_bpm, self.meter, self.pickup_beats)
        if not 0 <= self.likely <= 1:
            raise RhythmError(f"a likelihood is 0 to 1; got {self.likely}")


def _check_grid(tempo_bpm: float, meter: Meter, pickup_beats: Fraction) -> None:
    if not tempo_bpm > 0:
        raise RhythmError(f"a tempo must be above 0 bpm; got {tempo_bpm}")
    if not 0 <= pickup_beats < meter.bar_beats:
        raise RhythmError(f"a pickup is shorter than a bar of {meter}; got {pickup_beats} quarters")


@dataclass(frozen=True, slots=True)
class Rhythm:
    """The grid of one take: a steady tempo, a meter, and where bar 1 begins."""

    tempo_bpm: float  # quarter notes a minute
    meter: Meter
    first_downbeat_s: float  # start of bar 1, from the start of the file; may be below 0
    pickup_beats: Fraction = Fraction(0)  # quarter notes before bar 1
    feel: Feel = "straight"
    tempo_source: TempoSource = "estimated"
    beats_s: tuple[float, ...] = ()  # when the beats fell, where a click or taps told: in order, none left out
    readings: tuple[RhythmReading, ...] = ()  # likeliest first; the first is the one above
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept

    def __post_init__(self) -> None:
        _check_grid(self.tempo_bpm, self.meter, self.pickup_beats)
        if any(after <= before for before, after in pairwise(self.beats_s)) or len(self.beats_s) == 1:
            raise RhythmError("the times of beats are in order, two or more")

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
