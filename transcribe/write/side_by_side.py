"""Several ways to play one lick as text tab side by side, each with what is said of it under its tab."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

from transcribe.score.score import Score
from transcribe.write.tab_lines import Line, lines_of, widest_bar
from transcribe.write.text_tab import NARROWEST, legend, string_names

GAP = 4  # blanks between two ways
HANDS = (
    "above the strings: names of the notes, of a chord the one on its highest string",
    "below them: fretting fingers, 1 index to 4 little finger, 0 an open string; a chord's from high to low",
    "then the picking hand: ⊓ down, V up; or p thumb, i index, m middle, a ring finger",
)


@dataclass(frozen=True, slots=True)
class Column:
    """One way: a heading, the tab, and lines of remarks; blanks before a remark are kept as its indent."""

    heading: str
    score: Score
    remarks: tuple[str, ...] = ()


def side_by_side(columns: Sequence[Column], *, width: int = 80) -> str:
    """Return the page, no wider than ``width`` columns: as many ways in a row as fit without breaking a bar.

    Ways that do not fit beside one another stand below one another. A legend of the signs closes the page.
    """
    width = max(width, NARROWEST)
    if not columns:
        return ""
    names = string_names(columns[0].score.instrument.open_strings_midi)
    abreast = _abreast(columns, names, width)
    room = (width - GAP * (abreast - 1)) // abreast
    drawn = [lines_of(column.score, names, room, hands=True) for column in columns]
    rows = []
    for first in range(0, len(columns), abreast):
        told, tabs = columns[first : first + abreast], drawn[first : first + abreast]
        rows.append(_row(told, tabs, room))
    lines = [line for tab in drawn for line in tab]
    closing = [legend(lines, width), *(row for line in HANDS for row in textwrap.wrap(line, width))]
    return "\n\n".join([*rows, "\n".join(part for part in closing if part)]) + "\n"


def _abreast(columns: Sequence[Column], names: Sequence[str], width: int) -> int:
    """Return how many ways stand in a row."""
    least = max(NARROWEST, *(widest_bar(column.score, names) for column in columns))
    return min(len(columns), max(1, (width + GAP) // (least + GAP)))


def _row(columns: Sequence[Column], tabs: Sequence[Sequence[Line]], room: int) -> str:
    """Return the ways of one row: headings, tabs and remarks each begin at the same height."""
    headings = [textwrap.wrap(column.heading, room, subsequent_indent="   ") for column in columns]
    systems = [_system(tab) for tab in tabs]
    remarks = [[row for remark in column.remarks for row in _wrapped(remark, room)] for column in columns]
    blocks = [block for block in (headings, systems, remarks) if any(block)]
    return "\n\n".join(_beside(block, room) for block in blocks)


def _system(tab: Sequence[Line]) -> list[str]:
    rows: list[str] = []
    for line in tab:
        rows += ["", *line.rows] if rows else line.rows
    return rows


def _wrapped(remark: str, room: int) -> list[str]:
    words = remark.lstrip()
    indent = " " * (len(remark) - len(words))
    return textwrap.wrap(words, room, initial_indent=indent, subsequent_indent=indent + "  ")


def _beside(block: Sequence[Sequence[str]], room: int) -> str:
    rows = zip_longest(*block, fillvalue="")
    return "\n".join((" " * GAP).join(cell.ljust(room) for cell in row).rstrip() for row in rows)
