"""Each row gets a column of its own, at the least cost in all."""

from itertools import permutations

import numpy as np
import pytest

from transcribe.notes.assignment import cheapest_assignment


@pytest.mark.parametrize("seed", range(20))
def test_no_other_choice_costs_less(seed):
    random = np.random.default_rng(seed)
    rows, columns = sorted(random.integers(1, 7, size=2).tolist())
    cost = random.random((rows, columns)).round(seed % 3 + 1)  # also with equal costs
    found = cheapest_assignment(cost)
    assert len(set(found)) == rows
    least = min(sum(cost[row, column] for row, column in enumerate(p)) for p in permutations(range(columns), rows))
    assert sum(cost[row, column] for row, column in enumerate(found)) == pytest.approx(least)


def test_it_is_as_good_as_scipys_on_many_rows_of_which_few_have_a_choice():
    from scipy.optimize import linear_sum_assignment

    random = np.random.default_rng(1)
    cost = np.where(random.random((120, 260)) < 0.02, random.random((120, 260)), 1000.0)
    theirs = cost[linear_sum_assignment(cost)].sum()
    assert cost[np.arange(120), cheapest_assignment(cost)].sum() == pytest.approx(theirs)


def test_nothing_to_give_out_is_no_error_and_too_little_is():
    assert cheapest_assignment(np.zeros((0, 3))) == []
    with pytest.raises(ValueError, match="2 rows"):
        cheapest_assignment(np.zeros((2, 1)))
