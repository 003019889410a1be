"""Moments near another are those that looking at all of them finds."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from transcribe.notes.in_time import Moments

HOP_S = 256 / 22050


def test_strings_struck_within_forty_milliseconds_are_near_and_no_others():
    strum = Moments([1.0, 1.02, 1.039, 1.05, 3.0])
    assert strum.within(0.04, 1.0) == (0, 1, 2)
    assert strum.within(0.04, 2.0) == ()


def test_moments_may_come_in_any_order_and_are_told_in_the_order_of_their_numbers():
    assert Moments([5.0, 1.0, 4.9, 5.1]).within(0.2, 5.0) == (0, 2, 3)


@given(st.lists(st.integers(0, 60), max_size=30), st.integers(0, 60), st.integers(0, 8))
def test_rounding_loses_no_moment_at_the_very_edge(frames, at, reach):
    times = [frame * HOP_S for frame in frames]
    all_of_them = np.flatnonzero(np.abs(np.array(times) - at * HOP_S) <= reach * HOP_S)
    assert Moments(times).within(reach * HOP_S, at * HOP_S) == tuple(all_of_them.tolist())
