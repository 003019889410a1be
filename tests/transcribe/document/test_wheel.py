"""The pitch wheel through one note, moved by formula."""

from __future__ import annotations

import numpy as np
import pytest

from transcribe.document.wheel import Gestures, wheel_gestures

STEP_S = 0.005


def moved(curve, *, end_s: float = 1.0, next_semitones: float | None = None) -> Gestures:
    """What is read from a wheel that follows ``curve``, semitones at each time, through a note from 0 on."""
    times_s = np.arange(0.0, end_s, STEP_S)
    return wheel_gestures(times_s, curve(times_s), onset_s=0.0, end_s=end_s, next_semitones=next_semitones)


def ramp(start_s: float, reach_s: float, low: float, high: float):
    return lambda times_s: np.interp(times_s, [start_s, reach_s], [low, high])


@pytest.mark.parametrize(("size", "cents"), [(0.5, 50), (1, 100), (2, 200), (3, 300)])
def test_a_push_is_told_by_its_size_and_times(size: float, cents: float) -> None:
    (bend,) = moved(ramp(0.3, 0.45, 0.0, size)).bends
    assert (bend.kind, bend.target_cents) == ("bend", cents)
    assert bend.reached_cents == pytest.approx(cents, abs=2)
    assert bend.start_s == pytest.approx(0.3, abs=0.03)
    assert bend.reach_s == pytest.approx(0.45, abs=0.03)
    assert bend.end_s == 1.0


def test_a_wheel_at_rest_says_nothing_and_a_detuned_one_is_a_deviation() -> None:
    assert moved(lambda times_s: 0 * times_s) == Gestures(0.0)
    assert moved(lambda times_s: 0 * times_s - 0.12).rest_cents == pytest.approx(-12)


def test_a_wave_is_vibrato_and_no_bend() -> None:
    done = moved(lambda times_s: 0.3 * np.sin(2 * np.pi * 5.5 * times_s), end_s=1.5)
    assert done.vibrato is not None
    assert done.vibrato.rate_hz == pytest.approx(5.5, abs=0.2)
    assert done.vibrato.extent_cents == pytest.approx(30, abs=3)
    assert done.bends == ()


def test_a_rise_into_the_next_pitch_is_a_slide_and_the_same_rise_held_is_a_bend() -> None:
    late = ramp(0.9, 1.0, 0.0, 2.0)
    assert moved(late, next_semitones=2.0).slide == ("legato", 200.0)
    held = moved(ramp(0.4, 0.5, 0.0, 2.0), next_semitones=2.0)
    assert held.slide is None
    assert [bend.target_cents for bend in held.bends] == [200]
    assert moved(late, next_semitones=-5.0).slide is None


def test_a_fall_at_the_end_slides_out_and_a_rise_from_below_slides_in() -> None:
    assert moved(ramp(0.85, 1.0, 0.0, -3.0)).slide[0] == "out"
    kind, cents = moved(ramp(0.0, 0.12, -2.0, 0.0)).slide
    assert (kind, round(cents)) == ("in", 200)


def test_a_long_note_is_looked_at_within_bounds() -> None:
    done = wheel_gestures(np.array([0.0, 1.0]), np.array([0.0, 1.0]), onset_s=0.0, end_s=36_000.0)
    assert done.contour is not None
    assert len(done.contour.cents) <= 6000
    assert done.bends[0].end_s == 36_000.0
