"""The moving pitch of one note: measured where it was measured, drawn from the gestures elsewhere."""

from dataclasses import replace

import numpy as np
import pytest

from transcribe.notes.note import Bend, Contour, Note, Slide
from transcribe.settings import MidiSettings
from transcribe.write.pitch_curve import MOST_POINTS, pitch_curve

NOTE = Note("n1", 1.0, 2.0, 62)


def curve(end_s=2.0, **more):
    times_s, cents = pitch_curve(replace(NOTE, **more), end_s, MidiSettings())
    assert times_s[0] == 1.0
    assert np.all(np.diff(times_s) > 0)
    assert np.all(np.isfinite(cents))
    return times_s, cents


def test_a_plain_note_is_one_point():
    _, cents = curve()
    assert cents.tolist() == [0.0]
    _, cents = curve(cents=-4.0)
    assert cents.tolist() == [-4.0]


def test_a_contour_that_starts_late_opens_the_note_with_its_first_reading():
    """Or the note would begin at the bend of the one before it."""
    times_s, cents = curve(contour=Contour(1.05, 0.01, (None, 12.0, 30.0)))
    assert times_s.tolist() == pytest.approx([1.0, 1.07])
    assert cents.tolist() == [12.0, 30.0]


def test_a_contour_that_starts_early_is_cut_at_the_onset_and_at_the_end():
    times_s, cents = curve(end_s=1.015, contour=Contour(0.98, 0.01, (1.0, 2.0, 3.0, 4.0, 5.0)))
    assert cents.tolist() == [3.0, 4.0]
    assert times_s.tolist() == pytest.approx([1.0, 1.01])


def test_a_bend_that_starts_before_its_note_still_goes_forward_in_time():
    times_s, cents = curve(bends=(Bend("bend", 0.9, 1.1, 2.0, 200, 200),))
    assert cents[-1] == 200
    assert np.all(np.diff(cents) >= 0)
    assert times_s[-1] < 2.0


def test_a_slide_out_leaves_from_where_a_bend_left_the_string():
    _, cents = curve(bends=(Bend("bend", 1.1, 1.2, 2.0, 100, 100),), slide=Slide("out", -300.0))
    assert max(cents) == 100
    assert cents[-1] < -150


def test_an_hours_long_note_stays_small():
    times_s, _ = curve(offset_s=1e6, end_s=1e6, bends=(Bend("bend", 1.1, 1.2, 2.0, 100, 100),))
    assert times_s.size <= MOST_POINTS
