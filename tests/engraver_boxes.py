"""What may not touch on an engraved sheet, read from the boxes of its systems."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from transcribe.write.engraver.system import Box, BoxKind, System

WRITING: frozenset[BoxKind] = frozenset({"text", "fret", "span", "tuplet", "doubt"})
SOLID: frozenset[BoxKind] = frozenset(
    {"head", "cue", "accidental", "dot", "rest", "clef", "key", "time", "stem", "beam", "flag", "barline", "sign"}
)
SLACK = 0.3  # units: a thirtieth of a space; boxes of round shapes hold a little air


def collisions(system: System) -> list[tuple[Box, Box]]:
    """Return every two things that touch and must not: writing and writing, writing and signs, heads and signs."""
    found = [
        (one, other)
        for one, other in combinations(_checked(system.boxes), 2)
        if _must_part(one, other) and one.touches(other, gap=-SLACK)
    ]
    return found + _crossed_by_bends(system.boxes)


def _crossed_by_bends(boxes: Sequence[Box]) -> list[tuple[Box, Box]]:
    """What lines of bends run through: dashes of a held one through anything but strings, angled lines through text.

    An arrow on the tab staff fills little of the box around its bow, and starts from its own number.
    """
    lines = [box for box in boxes if box.kind == "bend" and (box.note is not None or box.bottom - box.top < 2.0)]
    others = [box for box in boxes if box.kind in WRITING | {"ledger", "cue", "head", "accidental"}]
    return [
        (line, other)
        for line in lines
        for other in others
        if (line.note is None or line.note != other.note or other.kind in WRITING - {"doubt"}) and _apart(line, other)
        if line.touches(other, gap=-SLACK)
    ]


def _apart(line: Box, other: Box) -> bool:
    """An angled line may cross the ledger lines between its heads; dashes may not."""
    return other.kind != "ledger" or line.note is None


def _checked(boxes: Sequence[Box]) -> list[Box]:
    return [box for box in boxes if box.kind in WRITING | SOLID]


def _must_part(one: Box, other: Box) -> bool:
    kinds = {one.kind, other.kind}
    if "doubt" in kinds and ((one.note is not None and one.note == other.note) or kinds == {"doubt", "stem"}):
        return False  # the ring of a doubt stands around its own number or head, and crosses its stem
    if one.kind == "span" and other.kind == "span" and (one.words is None or other.words is None):
        return False  # a dashed line and its hook
    if "barline" in kinds and "span" in kinds:
        return not (one.words is None or other.words is None)  # dashes run on over bar lines
    if kinds & WRITING:
        return not (kinds == {"tuplet"} and (one.words is None or other.words is None))  # a bracket and its number
    if kinds in ({"cue"}, {"cue", "head"}, {"cue", "accidental"}, {"cue", "stem"}, {"cue", "dot"}, {"cue", "flag"}):
        return True
    if kinds in ({"head", "accidental"}, {"accidental"}, {"head", "rest"}, {"accidental", "rest"}, {"dot", "head"}):
        return True
    return bool(kinds & {"clef", "key", "time", "barline"}) and len(kinds) == 2 and "sign" not in kinds
