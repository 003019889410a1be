"""Labels keep their order and their distance."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.write.label_places import in_a_column, in_rows


def test_labels_with_room_stay_where_they_belong() -> None:
    assert in_a_column([10.0, 50.0, 90.0], 18.0, top=0.0, bottom=100.0) == [10.0, 50.0, 90.0]


def test_two_at_one_place_share_the_move() -> None:
    assert in_a_column([50.0, 50.0], 18.0, top=0.0, bottom=100.0) == [41.0, 59.0]


@given(st.lists(st.floats(0, 200), max_size=10))
def test_a_column_never_touches_and_keeps_order(wanted: list[float]) -> None:
    places = in_a_column(wanted, 18.0, top=0.0, bottom=200.0)
    order = sorted(range(len(wanted)), key=lambda k: wanted[k])
    assert all(places[b] - places[a] >= 18.0 - 1e-6 for a, b in pairwise(order))
    assert all(9.0 - 1e-6 <= place <= 191.0 + 1e-6 for place in places)


@given(st.lists(st.tuples(st.floats(0, 600), st.floats(20, 200)), max_size=10))
def test_rows_never_touch(labels: list[tuple[float, float]]) -> None:
    centres, widths = [c for c, _ in labels], [w for _, w in labels]
    places = in_rows(centres, widths, left=0.0, right=600.0, gap=10.0)
    for k, (x, row) in enumerate(places):
        assert 0 <= x <= 600.0 - widths[k] + 1e-6
        for j, (other_x, other_row) in enumerate(places[:k]):
            assert row != other_row or x >= other_x + widths[j] + 10 - 1e-6 or other_x >= x + widths[k] + 10 - 1e-6


def test_a_lone_label_stands_over_its_moment() -> None:
    assert in_rows([100.0], [40.0], left=0.0, right=600.0, gap=10.0) == [(pytest.approx(80.0), 0)]
