"""A slow map is asked for seldom, a quick one wherever it changes."""

import numpy as np

from transcribe.evidence.sparing import ALIKE, FIRST_STEP, fill_sparingly


def filled(true, wanted=None, restless=None):
    """Return the map as filled, and the frames that were asked for."""
    rows, asked = np.zeros_like(true), []

    def ask(frames):
        assert (np.diff(frames) > 0).all()
        rows[frames] = true[frames]
        asked.extend(frames.tolist())

    settled = sum(fill_sparingly(ask, rows, np.ones(len(true), bool) if wanted is None else wanted, restless))
    assert len(set(asked)) == len(asked)
    assert settled + len(asked) == len(true), "every row is asked for, drawn through or not wanted"
    return rows, sorted(asked)


def bell(middle, bins=40):
    """One row a middle: a pitch as a network shows it."""
    return np.exp(-0.5 * ((np.arange(bins) - np.asarray(middle)[:, None]) / 2.0) ** 2).astype(np.float32)


def test_a_held_pitch_is_asked_for_every_fourth_frame_and_at_the_end():
    rows, asked = filled(bell(np.full(102, 17.0)))
    assert np.allclose(rows, bell(np.full(102, 17.0)))
    assert set(range(0, 102, FIRST_STEP)) <= set(asked)
    assert len(asked) <= 102 / FIRST_STEP + 2


def test_a_leap_is_seen_in_its_own_frame():
    true = bell(np.where(np.arange(101) < 42, 10.0, 24.0))
    rows, asked = filled(true)
    assert np.array_equal(rows.argmax(axis=1), true.argmax(axis=1))
    assert {41, 42} <= set(asked)
    assert len(asked) < 32


def test_a_slow_bend_is_drawn_through_and_a_quick_one_asked_for():
    slow, quick = bell(np.linspace(10, 14, 101)), bell(10 + 20 * np.linspace(0, 1, 101))
    drawn, few = filled(slow)
    assert np.abs(drawn - slow).max() < ALIKE / 2
    assert len(few) < 35 < len(filled(quick)[1])


def test_frames_not_wanted_stay_empty_and_tell_nothing_of_their_neighbours():
    wanted = np.zeros(60, bool)
    wanted[13:31] = True
    true = bell(np.full(60, 20.0))
    rows, asked = filled(true, wanted)
    assert rows[~wanted].max() == 0
    assert np.allclose(rows[wanted], true[wanted])
    assert all(wanted[asked])


def test_no_mean_is_taken_across_a_stroke():
    true = bell(np.full(61, 20.0))
    true[30] *= 0.3  # the stroke itself
    restless = np.zeros(61, bool)
    restless[31] = True
    assert filled(true)[0][30].max() > 0.9  # unseen between frames that are alike
    assert np.allclose(filled(true, restless=restless)[0], true)


def test_nothing_wanted_and_a_single_frame():
    assert filled(bell([3.0]), np.zeros(1, bool))[1] == []
    assert filled(bell([3.0]))[1] == [0]
