"""TakeChoices: what the person said about a take; everything else is heard."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from fingering.fretboard import Fretboard
from transcribe.errors import SettingsError
from transcribe.harmony.backing import Bars, bars_from_text
from transcribe.harmony.chord import chord_from_text
from transcribe.harmony.key import Key
from transcribe.rhythm.beat_times import BeatTimes
from transcribe.rhythm.rhythm import Feel, Meter

SLOWEST_BPM, FASTEST_BPM = 20.0, 400.0
LONGEST_BAR = Meter(12, 8)  # of the meters that are found when not told
LOWEST_REFERENCE_HZ, HIGHEST_REFERENCE_HZ = 400.0, 480.0  # historical and modern pitch standards lie well inside


@dataclass(frozen=True, slots=True)
class TakeChoices:
    """Choices for one take; None means that the tool finds out for itself."""

    from_s: float | None = None
    to_s: float | None = None
    tempo_bpm: float | None = None
    first_downbeat_s: float | None = None
    meter: Meter | None = None
    pickup_beats: Fraction | None = None  # quarter notes before bar 1
    feel: Feel | None = None
    taps_s: tuple[float, ...] = ()  # when a person tapped the beat, in order
    key: Key | None = None
    vamp: str | None = None  # the one chord that the backing stays on
    chords: Bars = ()  # what the backing plays, bar by bar from bar 1
    fretboard: Fretboard = field(default_factory=Fretboard)
    reference_hz: float = 440.0  # ISO 16:1975
    profile: str = "lead line"  # cost profile of the fingering room
    network: Literal["tiny", "full"] = "tiny"
    voices: Literal["auto", "one", "several"] = "auto"  # a single line, or strings that sound together
    second_opinion: bool = False
    accept_clipping: bool = False

    def __post_init__(self) -> None:
        if self.tempo_bpm is not None and not SLOWEST_BPM <= self.tempo_bpm <= FASTEST_BPM:
            raise SettingsError(
                f"a tempo of {self.tempo_bpm:g} is outside {SLOWEST_BPM:g} to {FASTEST_BPM:g} quarter notes a minute",
                "Give quarter notes a minute, for example --tempo 96.",
            )
        if self.pickup_beats is not None and not 0 <= self.pickup_beats < (self.meter or LONGEST_BAR).bar_beats:
            raise SettingsError(
                f"a pickup of {self.pickup_beats} quarter notes is not shorter than a bar",
                "Give the quarter notes before bar 1, for example --pickup 1/2.",
            )
        if self.vamp is not None:
            chord_from_text(self.vamp)
            if self.chords:
                raise SettingsError(
                    "both a vamp and chords are given", "Give one of them: --vamp G or --chords 'G | C'."
                )
        if self.chords:
            bars_from_text(" | ".join(" ".join(bar) for bar in self.chords))
        if self.taps_s:
            BeatTimes(self.taps_s, starts_bar=False)  # refuses what is no beat before anything is heard
        if self.taps_s and self.tempo_bpm is not None:
            raise SettingsError("both a tempo and taps are given", "Give one of them: the taps tell the tempo.")
        if not LOWEST_REFERENCE_HZ <= self.reference_hz <= HIGHEST_REFERENCE_HZ:
            raise SettingsError(
                f"a reference of {self.reference_hz:g} Hz is outside "
                f"{LOWEST_REFERENCE_HZ:g} to {HIGHEST_REFERENCE_HZ:g} Hz",
                "Give the pitch of A above middle C, for example --reference 442.",
            )
