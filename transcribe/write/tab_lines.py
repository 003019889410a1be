"""Lines of text tab: events to columns, columns to bars, bars to lines no wider than the page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.rhythm.grid import pulse_beats
from transcribe.score.remarks import is_caution
from transcribe.score.score import Score
from transcribe.write.tab_above import rows_above
from transcribe.write.tab_columns import Column, bar_columns
from transcribe.write.tab_hands import finger_rows, name_row, stroke_row
from transcribe.write.tab_stems import Row, Stem, stem_rows

LEAD = 1  # dashes before the first note of a bar
LONGEST_WAVE = 4  # characters of vibrato


@dataclass(frozen=True, slots=True)
class Stretch:
    """A bar, or a part of one that is wider than the page."""

    number: int
    columns: tuple[Column, ...]
    xs: tuple[int, ...]  # text column of each, from the start of the stretch
    width: int
    starts_bar: bool
    ends_bar: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One line of tab, ready to print, and which signs it used."""

    rows: tuple[str, ...]
    signs: frozenset[str]
    stem_signs: frozenset[str]


def lines_of(score: Score, names: Sequence[str], width: int, *, hands: bool = False) -> list[Line]:
    """Return the tab of a score line by line; ``names`` are those of the strings, highest first.

    With ``hands`` the names of the notes stand above the strings, fretting fingers and picking strokes below them.
    """
    margin = max(len(name) for name in names) + 1
    doubted = {doubt.note for doubt in score.doubts if doubt.note is not None and not is_caution(doubt)}
    room = width - margin - 2
    stretches = [part for bar in bar_columns(score, doubted) for part in _broken(bar, room, pulse_beats(score.meter))]
    lines: list[list[Stretch]] = []
    used = 0
    for stretch in stretches:
        if lines and used + stretch.width + 1 <= room + 1 and lines[-1][-1].ends_bar:
            lines[-1].append(stretch)
            used += stretch.width + 1
        else:
            lines.append([stretch])
            used = stretch.width + 1
    return [_line(line, names, score, last=index == len(lines) - 1, hands=hands) for index, line in enumerate(lines)]


def widest_bar(score: Score, names: Sequence[str]) -> int:
    """Return how many columns a line needs to hold any bar of the score unbroken."""
    margin = max(len(name) for name in names) + 1
    widths = [_stretch(columns, starts_bar=True, ends_bar=True).width for columns in bar_columns(score, set())]
    return max(widths, default=0) + margin + 2


def spacing(room: Fraction) -> int:
    """Return how many characters a length takes at least: longer lengths take more, but not in proportion.

    >>> [spacing(Fraction(1, n)) for n in (4, 2, 1)]
    [3, 4, 6]
    """
    return max(2, round(6 + 1.6 * math.log2(float(room))))


def _broken(columns: tuple[Column, ...], room: int, pulse: Fraction) -> list[Stretch]:
    """A bar as one stretch, or as several that fit the page, broken at beats where possible."""
    whole = _stretch(columns, starts_bar=True, ends_bar=True)
    if whole.width <= room or len(columns) == 1:
        return [whole]
    parts: list[Stretch] = []
    rest = columns
    while rest:
        fitting = len(rest)
        while fitting > 1 and _stretch(rest[:fitting], starts_bar=not parts, ends_bar=True).width > room:
            fitting -= 1
        if fitting < len(rest):
            on_beat = [cut for cut in range(1, fitting + 1) if rest[cut].beat % pulse == 0]
            fitting = on_beat[-1] if on_beat else fitting
        parts.append(_stretch(rest[:fitting], starts_bar=not parts, ends_bar=fitting == len(rest)))
        rest = rest[fitting:]
    return parts


def _stretch(columns: tuple[Column, ...], *, starts_bar: bool, ends_bar: bool) -> Stretch:
    xs: list[int] = []
    x, free = LEAD, LEAD
    for index, column in enumerate(columns):
        if index:
            signs = max((len(sign) for sign in column.joints.values()), default=0)
            free += signs or 1
            x = xs[-1] + spacing(columns[index - 1].room)
        else:
            free += max((len(sign) for sign in column.joints.values()), default=0)
        x = max(x, free + column.left)
        if index and _lopsided(columns[index - 1], xs[-1], column, x):
            x += 1
        xs.append(x)
        free = x + max(column.right, len(column.loose))
    end = max(xs[-1] + spacing(columns[-1].room), free + 1)
    return Stretch(columns[0].bar, columns, tuple(xs), end, starts_bar, ends_bar)


def _lopsided(before: Column, before_x: int, column: Column, x: int) -> bool:
    """Whether a sign between two notes would have room on one side of it only."""
    gaps = [
        x - column.cells[string].anchor - before_x - before.cells[string].right
        for string in column.joints
        if string in before.cells and not before.cells[string].wave
    ]
    return 2 in gaps


def _line(stretches: Sequence[Stretch], names: Sequence[str], score: Score, *, last: bool, hands: bool) -> Line:
    margin = max(len(name) for name in names) + 1
    width = margin + sum(stretch.width + stretch.ends_bar for stretch in stretches) + last
    strings = {string: Row(width) for string in range(1, len(names) + 1)}
    for string, name in enumerate(names, start=1):
        strings[string].put(0, name.rjust(margin - 1) + "|" + "-" * (width - margin))
    numbers, placed = Row(width), []
    signs: set[str] = set()
    at = margin
    for stretch in stretches:
        numbers.put(at, str(stretch.number) if stretch.starts_bar else f"({stretch.number})")
        xs = [at + x for x in stretch.xs]
        _draw_strings(stretch, xs, at + stretch.width, strings)
        placed += list(zip(xs, stretch.columns, strict=True))
        at += stretch.width
        if stretch.ends_bar:
            for row in strings.values():
                row.put(at, "||" if last and stretch is stretches[-1] else "|")
            at += 1
    for _, column in placed:
        signs |= {sign for item in column.cells.values() for sign in item.signs} | set(column.joints.values())
    above = [numbers.text, *rows_above(placed, width, signs)]
    pulse = pulse_beats(score.meter)
    stems = [
        Stem(x, column.event, (column.bar, (column.beat + _lead(column.bar, score)) // pulse))
        for x, column in placed
        if column.event is not None
    ]
    below, stem_signs = stem_rows(stems, width)
    notes = [(x, column.struck) for x, column in placed]
    named = name_row(notes, width) if hands else ""
    under = [*finger_rows(notes, width), stroke_row(notes, width)] if hands else []
    rows = (
        *(row for row in (*above, named) if row),
        *(row.text for row in strings.values()),
        *(row for row in under if row),
        *below,
    )
    return Line(rows, frozenset(signs), frozenset(stem_signs))


def _lead(bar: int, score: Score) -> Fraction:
    """A pickup bar is counted from where a whole bar would begin."""
    return score.meter.bar_beats - score.bars[0].length if bar == 0 else Fraction(0)


def _draw_strings(stretch: Stretch, xs: Sequence[int], end: int, strings: dict[int, Row]) -> None:
    free: dict[int, int] = {}  # string: first column after what stands there
    for index, (x, column) in enumerate(zip(xs, stretch.columns, strict=True)):
        limit = xs[index + 1] - stretch.columns[index + 1].left if index + 1 < len(xs) else end
        for string, item in column.cells.items():
            start = x - item.anchor
            sign = column.joints.get(string, "")
            if sign:
                gap = free.get(string, start - len(sign) - 1)
                middle = (gap + start - len(sign) + 1) // 2 if index else start - len(sign)
                strings[string].put(middle, sign)
            strings[string].put(start, item.text)
            free[string] = start + len(item.text)
            if item.wave:
                wave = max(1, min(LONGEST_WAVE, limit - free[string] - len(item.after) - 1))
                strings[string].put(free[string], "~" * wave)
                free[string] += wave
            strings[string].put(free[string], item.after)
            free[string] += len(item.after)
