"""Tone: one note as harmony hears it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from transcribe.errors import HarmonyError


@dataclass(frozen=True, slots=True)
class Tone:
    """A sounding pitch from ``start`` to ``end``, quarter notes from the first downbeat.

    ``midi`` is the pitch it aims at: a bend's target. A curl, a push of about a quarter tone, keeps the fretted pitch
    and is ``blue``. A dead note has no pitch and is no tone.
    """

    id: str
    start: Fraction
    end: Fraction
    midi: int
    strength: float = (
        0.5  # of its place in the bar: 1 on the first beat, 0.75 in the middle, 0.5 on a beat, less off it
    )
    blue: bool = False
    from_midi: int | None = None  # the pitch it is pushed or slid up from, where that is another one
    slid_in: bool = False  # a slide from no clear fret leads into it

    def __post_init__(self) -> None:
        if not self.start < self.end:
            raise HarmonyError(f"a tone ends after it starts; got {self.start} to {self.end}")

    @property
    def on_downbeat(self) -> bool:
        """True on the first beat of a bar."""
        return self.strength >= 1.0

    @property
    def on_beat(self) -> bool:
        """True on any beat."""
        return self.strength >= 0.5
