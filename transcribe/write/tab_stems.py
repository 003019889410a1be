"""The rhythm under a text tab: stems, beams, dots, ties, triplets and rests, drawn with line characters.

A quarter is a plain stem; a half has an open head on its stem, a whole only the head. Eighths hang on a single line,
sixteenths on a double one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from transcribe.score.score import Event, WrittenValue

LEVELS = {"eighth": 1, "16th": 2, "32nd": 3}  # beams or flags
RESTS = {"whole": "▀", "half": "▄", "quarter": "}", "eighth": "7", "16th": "7", "32nd": "77"}
REST_TAILS = {"16th": "7", "32nd": "7"}  # on the line below: one hook for each flag
FILL = {1: "─", 2: "═", 3: "≡"}
# How each value looks and what it says, for the legend: (stem line over beam line would not fit on one line).
STEM_MEANINGS = {
    "whole": ("○", "whole note"),
    "half": ("○ on a stem", "half"),
    "quarter": ("│", "quarter"),
    "eighth": ("└─┘ or └╴", "eighths"),
    "16th": ("╘═╛ or ╘═", "sixteenths"),
    "32nd": ("≡", "thirty-seconds"),
    "dot": (".", "dotted: half as long again"),
    "tie": ("│__│", "tie: one sound"),
    "3": ("└3┘", "triplet: three in the time of two"),
    "whole rest": ("▀", "whole rest"),
    "half rest": ("▄", "half rest"),
    "quarter rest": ("}", "quarter rest"),
    "eighth rest": ("7", "eighth rest"),
    "16th rest": ("7 over 7", "sixteenth rest"),
    "32nd rest": ("77 over 7", "thirty-second rest"),
}


@dataclass(frozen=True, slots=True)
class Stem:
    """An event, the beat of its bar it belongs to, and the text column it stands in."""

    x: int
    event: Event
    beat_key: tuple[int, int]  # bar, and which felt beat of it

    @property
    def level(self) -> int:
        """How many beams or flags it has."""
        return 0 if self.event.is_rest else LEVELS.get(self.event.value.type, 0)


class Row:
    """One line of text that characters can be put into at any column."""

    def __init__(self, width: int) -> None:
        self._cells = [" "] * width

    def put(self, x: int, text: str) -> None:
        """Write over what stands at ``x``; what would run past the end is left out."""
        for index, char in enumerate(text):
            if 0 <= x + index < len(self._cells):
                self._cells[x + index] = char

    @property
    def text(self) -> str:
        """The line without spaces at its end."""
        return "".join(self._cells).rstrip()


def stem_rows(stems: Sequence[Stem], width: int) -> tuple[list[str], set[str]]:
    """Return the rhythm lines under one system, and the keys of STEM_MEANINGS they use."""
    heads, beams, tuplets = Row(width), Row(width), Row(width)
    used: set[str] = set()
    for stem in stems:
        _draw_head(stem, heads, beams, used)
    _draw_ties(stems, heads, width, used)
    for group in beam_groups(stems):
        _draw_beam(group, beams)
    _draw_triplets(stems, tuplets, used)
    return [row.text for row in (heads, beams, tuplets) if row.text], used


def _draw_head(stem: Stem, heads: Row, beams: Row, used: set[str]) -> None:
    value = stem.event.value
    if stem.event.is_rest:
        sign = RESTS[value.type]
        beams.put(stem.x, REST_TAILS.get(value.type, ""))
        used.add(f"{value.type} rest")
    else:
        sign = "○" if value.type in ("whole", "half") else "│"
        if value.type in ("half", "quarter"):
            beams.put(stem.x, "│")
        used.add(value.type)
    heads.put(stem.x, sign + "." * value.dots)
    if value.dots:
        used.add("dot")


def _draw_ties(stems: Sequence[Stem], heads: Row, width: int, used: set[str]) -> None:
    for index, stem in enumerate(stems):
        if not any(note.tied_to for note in stem.event.notes):
            continue
        start = stem.x + 1 + stem.event.value.dots
        end = stems[index + 1].x if index + 1 < len(stems) else width
        heads.put(start, "_" * (end - start))
        used.add("tie")
    if stems and any(note.tied_from for note in stems[0].event.notes):
        heads.put(stems[0].x - 2, "__")
        used.add("tie")


def beam_groups(stems: Sequence[Stem]) -> list[list[Stem]]:
    """Return the flagged notes that hang together: neighbours within one beat, no rest between them."""
    groups: list[list[Stem]] = []
    open_group = False
    for stem in stems:
        if stem.level == 0:
            open_group = False
            continue
        if open_group and groups[-1][-1].beat_key == stem.beat_key:
            groups[-1].append(stem)
        else:
            groups.append([stem])
        open_group = True
    return groups


def _draw_beam(group: Sequence[Stem], beams: Row) -> None:
    if len(group) == 1:
        beams.put(group[0].x, {1: "└╴", 2: "╘═", 3: "╘≡"}[group[0].level])
        return
    for left, right in pairwise(group):
        level = min(left.level, right.level)
        beams.put(left.x + 1, FILL[level] * (right.x - left.x - 1))
    for index, stem in enumerate(group):
        before = min(stem.level, group[index - 1].level) if index else 0
        after = min(stem.level, group[index + 1].level) if index + 1 < len(group) else 0
        if stem.level > max(before, after):  # a beam of its own, as long as one character
            beams.put(stem.x - 1 if before else stem.x + 1, FILL[stem.level])
        beams.put(stem.x, _corner(before, after, stem.level))


def _corner(before: int, after: int, level: int) -> str:
    if not before:
        return "╘" if level > 1 else "└"
    if not after:
        return "╛" if level > 1 else "┘"
    return "╧" if before > 1 and after > 1 else "┴"


def _draw_triplets(stems: Sequence[Stem], tuplets: Row, used: set[str]) -> None:
    first: Stem | None = None
    for stem in stems:
        if stem.event.tuplet_starts:
            first = stem
        if stem.event.tuplet_stops and first is not None:
            width = max(3, stem.x - first.x + 1)
            tuplets.put(first.x, "└" + "3".center(width - 2, "─") + "┘")
            used.add("3")
            first = None


def value_name(value: WrittenValue) -> str:
    """Return a value in words, for a tempo mark: ``dotted quarter``."""
    return "dotted " * value.dots + value.type
