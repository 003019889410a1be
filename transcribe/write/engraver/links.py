"""Links: what leads from one head to another: ties, hammer-ons, pull-offs, slides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from transcribe.document.model import TakeNote
from transcribe.write.engraver.plan import BarPlan, Cell, Head, Slot

JoinKind = Literal["hammer-on", "pull-off", "legato", "shift"]


@dataclass(frozen=True, slots=True)
class HeadAt:
    """One head and where it is in the music."""

    slot: Slot
    cell: Cell
    head: Head
    index: int  # in its cell, lowest first

    @property
    def take(self) -> TakeNote:
        """The take's note."""
        return self.head.note.take

    @property
    def end(self) -> tuple[int, Fraction]:
        """Where its written value ends: bar index and beat."""
        return self.slot.bar, self.slot.beat + self.cell.event.value.quarters


@dataclass(frozen=True, slots=True)
class Join:
    """One note leading into the next on its string."""

    kind: JoinKind
    source: HeadAt  # the last head of its note
    target: HeadAt  # the first head


@dataclass(frozen=True, slots=True)
class Links:
    """All heads of a score in order, by note, with what connects them."""

    heads: tuple[HeadAt, ...]
    of_note: Mapping[str, tuple[HeadAt, ...]]
    ties: tuple[tuple[HeadAt, HeadAt], ...]
    joins: tuple[Join, ...]
    chains: tuple[tuple[HeadAt, HeadAt], ...]  # first and last head under one slur


def find_links(plans: Sequence[BarPlan]) -> Links:
    """Return the links of a score; a join whose other end is missing or on another string is left out."""
    heads = tuple(
        HeadAt(slot, cell, head, index)
        for plan in plans
        for slot in plan.slots
        for cell in slot.cells
        for index, head in enumerate(cell.heads)
    )
    of_note: dict[str, list[HeadAt]] = {}
    for head in heads:
        of_note.setdefault(head.take.id, []).append(head)
    ties = [
        (before, after) for found in of_note.values() for before, after in pairwise(found) if after.head.note.tied_from
    ]
    joins = _joins(heads, of_note)
    return Links(heads, {name: tuple(found) for name, found in of_note.items()}, tuple(ties), joins, _chains(joins))


def _joins(heads: Sequence[HeadAt], of_note: Mapping[str, Sequence[HeadAt]]) -> tuple[Join, ...]:
    joins: list[Join] = []
    last_on_string: dict[int, HeadAt] = {}
    sliding = {
        head.take.note.slide.to: (head.take.id, head.take.note.slide.kind)
        for head in heads
        if head.take.note.slide is not None and head.take.note.slide.to is not None
    }
    for head in heads:
        place = head.take.placement
        if not head.head.note.tied_from:
            before = last_on_string.get(place.string) if place else None
            attack = head.take.note.attack
            named = sliding.get(head.take.id)
            source = of_note[named[0]][-1] if named and named[0] in of_note else None
            if source is not None and source.slot.number < head.slot.number:
                joins.append(Join("shift" if named and named[1] == "shift" else "legato", source, head))
            elif before is not None and before.slot.number < head.slot.number:
                if attack in ("hammer-on", "pull-off"):
                    joins.append(Join("hammer-on" if attack == "hammer-on" else "pull-off", before, head))
                elif attack == "slide":
                    joins.append(Join("legato", before, head))
        if place is not None:
            last_on_string[place.string] = head
    return tuple(joins)


def _chains(joins: Sequence[Join]) -> tuple[tuple[HeadAt, HeadAt], ...]:
    """Runs of joins without a new pick share one slur."""
    chains: list[tuple[HeadAt, HeadAt]] = []
    open_at: dict[str, int] = {}  # note id that a chain has reached, to its place in the list
    for join in joins:
        if join.kind == "shift":
            continue
        at = open_at.pop(join.source.take.id, None)
        if at is None:
            chains.append((join.source, join.target))
            at = len(chains) - 1
        else:
            chains[at] = (chains[at][0], join.target)
        open_at[join.target.take.id] = at
    return tuple(chains)
