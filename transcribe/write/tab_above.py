"""Rows over the strings of text tab: doubts, what rings, what is muted, notes without a place."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from transcribe.write.tab_columns import Column
from transcribe.write.tab_stems import Row


def rows_above(placed: Sequence[tuple[int, Column]], width: int, signs: set[str]) -> list[str]:
    """Lines over the strings: doubts, what rings, what is muted, notes without a place."""
    doubts, loose = Row(width), Row(width)
    for x, column in placed:
        if column.doubtful:
            doubts.put(x, "?")
            signs.add("?")
        if column.loose:
            loose.put(x, column.loose)
            signs.add("name")
    ring = _span_row(placed, width, ("let ring", "ring"), lambda column: column.ring, signs)
    palm = _span_row(placed, width, ("P.M.", "PM"), lambda column: column.palm, signs)
    return [doubts.text, ring, palm, loose.text]


def _span_row(
    placed: Sequence[tuple[int, Column]],
    width: int,
    words: tuple[str, str],
    wanted: Callable[[Column], bool],
    signs: set[str],
) -> str:
    """A word and dashes over every run of wanted columns, closed by a stroke; the shorter word where room is short."""
    row = Row(width)
    for run in _runs(placed, wanted):
        start, end = placed[run[0]][0], placed[run[-1]][0] + 1
        later = [x for x, column in placed[run[-1] + 1 :] if wanted(column)]
        room = (later[0] - 1 if later else width) - start
        word = words[0] if len(words[0]) <= room else words[1]
        row.put(start, word)
        if end - start > len(word):
            row.put(start + len(word), "-" * (end - start - len(word) - 1) + "|")
        signs.add(words[0])
    return row.text


def _runs(placed: Sequence[tuple[int, Column]], wanted: Callable[[Column], bool]) -> list[list[int]]:
    """Indices of neighbouring columns that are all wanted."""
    runs: list[list[int]] = []
    for index, (_, column) in enumerate(placed):
        if not wanted(column):
            continue
        if runs and runs[-1][-1] == index - 1:
            runs[-1].append(index)
        else:
            runs.append([index])
    return runs
