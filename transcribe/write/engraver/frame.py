"""Frame: one system's places from left to right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from transcribe.write.engraver.plan import BarPlan, Slot


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the bars and slots of one system stand, in units from its left end."""

    plans: tuple[BarPlan, ...]
    first_index: int  # of its first bar in the score
    slot_x: Mapping[int, float]  # middle of the heads, by slot number
    edges: tuple[float, ...]  # bar lines: the left end of the music, then the end of each bar
    is_first: bool
    is_last: bool

    @property
    def width(self) -> float:
        """From the left end to the last bar line."""
        return self.edges[-1]

    @property
    def slots(self) -> tuple[Slot, ...]:
        """Every slot from left to right."""
        return tuple(slot for plan in self.plans for slot in plan.slots)

    def holds(self, slot: Slot) -> bool:
        """Whether a slot stands in this system."""
        return slot.number in self.slot_x

    def x_of(self, slot: Slot) -> float:
        """Middle of a slot's heads."""
        return self.slot_x[slot.number]

    def x_at(self, bar: int, beat: Fraction) -> float:
        """Return the place of any moment, between the slots in proportion; before or after this system, its ends."""
        place = bar - self.first_index
        if place < 0:
            return self.edges[0]
        if place >= len(self.plans):
            return self.edges[-1]
        slots = self.plans[place].slots
        marks = [(slot.beat, self.slot_x[slot.number]) for slot in slots]
        marks.append((self.plans[place].bar.length, self.edges[place + 1]))
        if beat <= marks[0][0]:
            return marks[0][1]
        for (start, left), (stop, right) in pairwise(marks):
            if beat <= stop:
                return left + (right - left) * float((beat - start) / (stop - start))
        return self.edges[place + 1]
