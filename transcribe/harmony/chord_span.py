"""ChordSpan: one chord over a stretch of the take."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal

from transcribe.errors import HarmonyError


@dataclass(frozen=True, slots=True)
class ChordSpan:
    """A chord from ``start_beat`` to ``end_beat``, quarter notes from the first downbeat (a pickup lies below 0).

    A heard chord that differs from the backing tells the chord under it in ``backing`` and both places in the key in
    ``role``, as "IV over I".
    """

    start_beat: Fraction
    end_beat: Fraction
    symbol: str  # root and kind, "C" or "D7"; an inversion is told by ``over``
    role: str | None = None  # place in the key, "IV", "V7", "IV over I"
    over: str | None = None  # the bass note when it is not the root, "E"
    shape: str | None = None  # the movable shape it is played in, "E"
    fret: int | None = None  # the fret that shape stands at, from the nut or capo; 0 is open
    source: Literal["given", "heard"] = "given"  # told by a person (backing, document), or read from the notes
    backing: str | None = None  # the chord that the backing plays under it, when that is another one
    cadence: str | None = None  # the cadence that closes a phrase with it, "plagal", "perfect authentic" ...
    locked: tuple[str, ...] = ()  # names of keys fixed by a person: a span with any is kept as it is
    unknown: Mapping[str, Any] = field(default_factory=dict, hash=False, repr=False)  # keys of other programs, kept

    def __post_init__(self) -> None:
        if not self.start_beat < self.end_beat:
            raise HarmonyError(f"a chord ends after it starts; got {self.start_beat} to {self.end_beat}")
        if not self.symbol:
            raise HarmonyError("a chord has a symbol, such as A7")
        if self.fret is not None and self.fret < 0:
            raise HarmonyError(f"a shape stands at fret 0 or above; got {self.fret}")

    def __str__(self) -> str:
        return self.symbol if self.over is None else f"{self.symbol}/{self.over}"
