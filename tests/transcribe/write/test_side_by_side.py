"""Ways side by side: never wider than the page, every bar whole where it fits, tabs at the same height."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fingering.passage import Placement
from tests.strategies_documents import documents
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.notes.note import Note
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing
from transcribe.score.build import build_score
from transcribe.score.score import Score
from transcribe.write.side_by_side import Column, side_by_side


def lick(string: int, *frets: int, finger: int = 1) -> Score:
    """Quarters on one string."""
    opens = (64, 59, 55, 50, 45, 40)
    takes = [
        TakeNote(
            Note(f"n{k + 1}", float(k), k + 1.0, opens[string - 1] + fret),
            Placement(f"n{k + 1}", string, fret, finger),
            Timing(1 + k // 4, Fraction(k % 4), Fraction(1)),
        )
        for k, fret in enumerate(frets)
    ]
    rhythm = Rhythm(60.0, Meter(4, 4), 0.0, tempo_source="given")
    return build_score(TakeDocument(tuple(takes), rhythm=rhythm), title="lick")


TWO = [
    Column("1  low", lick(3, 5, 7, 9, 7), ("hand: stays in 5th position",)),
    Column("2  high, in words that need a second line", lick(4, 10, 12, 14, 12), ("effort 2:", "  1 x")),
]


def test_two_ways_stand_beside_one_another_with_tabs_at_one_height() -> None:
    rows = side_by_side(TWO, width=90).splitlines()
    (tab,) = (row for row in rows if row.startswith("G|"))
    assert tab.count("G|") == 2
    assert rows[0].startswith("1  low")
    assert "2  high" in rows[0]
    (remark,) = (row for row in rows if row.startswith("hand:"))
    assert remark.endswith("effort 2:")


def test_names_of_notes_stand_over_the_strings_and_fingers_under_them() -> None:
    rows = side_by_side(TWO[:1], width=60).splitlines()
    strings = [index for index, row in enumerate(rows) if "|" in row]
    frets, names, fingers = rows[strings[2]], rows[strings[0] - 1], rows[strings[-1] + 1]
    for name, fret in (("n1", "5"), ("n2", "7"), ("n3", "9")):
        assert frets[names.index(name)] == fret
        assert fingers[names.index(name)] == "1"


def test_in_a_narrow_page_they_stand_below_one_another() -> None:
    rows = side_by_side(TWO, width=44).splitlines()
    assert sum(row.startswith("G|") for row in rows) == 2
    assert max(map(len, rows)) <= 44


def test_no_way_is_an_empty_page() -> None:
    assert side_by_side([], width=80) == ""


@pytest.mark.parametrize("width", [50, 79, 120, 200])
def test_many_ways_fill_the_page_and_no_more(width: int) -> None:
    four = [*TWO, *TWO]
    page = side_by_side(four, width=width)
    assert max(map(len, page.splitlines())) <= width
    assert page.count("G|") == 4


def test_a_bar_wider_than_the_page_breaks_at_a_beat() -> None:
    rows = side_by_side(TWO[:1], width=24).splitlines()
    assert max(map(len, rows)) <= 24
    assert sum(row.startswith("G|") for row in rows) == 2


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(documents(most=4), min_size=1, max_size=3), st.integers(40, 150))
def test_any_documents_keep_to_the_page(found: list[TakeDocument], width: int) -> None:
    remarks = ("effort 1.0:", "  0.3 a word")
    columns = [Column(f"{k}  somewhere", build_score(document), remarks) for k, document in enumerate(found)]
    same_guitar = [column for column in columns if column.score.instrument.open_strings_midi[0] == 64]
    page = side_by_side(same_guitar, width=width)
    assert max((len(row) for row in page.splitlines()), default=0) <= width
