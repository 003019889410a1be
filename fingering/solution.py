"""Fingering: what the solver hands back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fingering.passage import Placement


@dataclass(frozen=True, slots=True)
class Doubt:
    """Where to look first, and why."""

    id: str  # of the pluck
    why: str


@dataclass(frozen=True, slots=True)
class Caution:
    """Where the hand should take care."""

    id: str  # of the pluck, the first of its moment
    why: str
    advice: str


@dataclass(frozen=True, slots=True)
class ShapeSpan:
    """Plucks that lie in one shape, from ``first_id`` to ``last_id``."""

    first_id: str
    last_id: str
    name: str  # "A-shape"
    fret: int  # its barre or lowest fret, from the nut or capo

    def __str__(self) -> str:
        place = "open" if self.fret == 0 else f"{ordinal(self.fret)} fret"
        return f"{self.name}, {place}"


@dataclass(frozen=True, slots=True)
class Fingering:
    """Every note placed, with what it costs and what is doubtful."""

    placements: tuple[Placement, ...]  # in the order of the passage; notes nobody could place are left out
    positions: Mapping[str, int]  # pluck id -> fret under the index finger
    cost: float
    cost_by_term: Mapping[str, float]
    cost_by_note: Mapping[str, Mapping[str, float]]  # the moment's cost, under the first note of each moment
    doubts: tuple[Doubt, ...] = ()
    shapes: tuple[ShapeSpan, ...] = ()
    cautions: tuple[Caution, ...] = ()
    profile: str = ""
    by_id: Mapping[str, Placement] = field(default_factory=dict, repr=False)
    proved_cheapest: bool = True  # False where so much rang that some ways were dropped; a doubt says from where on

    @property
    def faults(self) -> float:
        """What is wrong with it, as cost: 0 when a hand can play everything as written."""
        return self.cost_by_term.get("fault", 0.0)

    def placement(self, pluck_id: str) -> Placement | None:
        """Return where one pluck is played; None when it could not be placed."""
        return self.by_id.get(pluck_id)


def ordinal(number: int) -> str:
    """Return 1st, 2nd, 3rd, 4th ..."""
    ending = "th" if 10 <= number % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
