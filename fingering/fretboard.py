"""Tuning, Fretboard, Position: where a pitch can be played, and how far frets are from one another."""

from __future__ import annotations

from dataclasses import dataclass

from fingering.errors import TuningError

STANDARD_OPEN_MIDI = (64, 59, 55, 50, 45, 40)  # E4 B3 G3 D3 A2 E2, string 1 first


@dataclass(frozen=True, slots=True)
class Position:
    """One place on the neck."""

    string: int  # 1 is the highest-pitched string (MusicXML 4.0, string-number)
    fret: int  # from the nut, or from the capo when there is one; 0 is open


@dataclass(frozen=True, slots=True)
class Fretboard:
    """A strung neck: open pitches, frets, capo and scale length."""

    open_midi: tuple[int, ...] = STANDARD_OPEN_MIDI  # string 1 first, without the capo
    frets: int = 22  # counted from the nut
    capo: int = 0
    scale_length_mm: float = 648.0

    def __post_init__(self) -> None:
        if not self.open_midi:
            raise TuningError("a fretboard needs at least one string", "Give the open strings from high to low.")
        if not 0 <= self.capo < self.frets:
            raise TuningError(
                f"a capo at fret {self.capo} does not fit a neck of {self.frets} frets",
                f"Give a capo from 0 to {self.frets - 1}.",
            )
