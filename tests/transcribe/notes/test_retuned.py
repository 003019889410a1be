"""A guitar's tuning taken to be another: what sounds stays where it sounds."""

import pytest

from transcribe.notes.note import Bend, Contour, Note, Slide
from transcribe.notes.retuned import around_cents, retuned


def sounding_cents(note, tuning_cents):
    return 100 * note.midi + note.cents + tuning_cents


@pytest.mark.parametrize(("before", "after"), [(0.0, 30.0), (49.9, -49.9), (-49.9, 49.9), (0.0, 48.0), (-30.0, 30.0)])
@pytest.mark.parametrize("cents", [-49.0, -10.0, 0.0, 10.0, 49.0])
def test_every_note_sounds_where_it_sounded(before, after, cents):
    note = Note("n1", 0.0, 1.0, 60, cents, contour=Contour(0.0, 0.01, (cents, None, cents + 5)))
    (told,) = retuned((note,), before, after)
    assert sounding_cents(told, after) == pytest.approx(sounding_cents(note, before), abs=0.1)
    assert 100 * told.midi + told.contour.cents[2] + after == pytest.approx(6000 + cents + 5 + before, abs=0.1)
    assert told.contour.cents[1] is None
    assert abs(told.cents) <= 50.0


def test_a_semitone_is_a_circle():
    (told,) = retuned((Note("n1", 0.0, 1.0, 61, -0.1),), -49.9, 49.9)
    assert (told.midi, told.cents) == (60, 0.1)
    assert around_cents(99.0) == -1.0


def test_a_bend_reaches_the_pitch_it_reached():
    """A whole step bend on a guitar 30 cents sharp that was told against the reference."""
    bend = Bend("bend", 0.0, 0.2, 0.5, 200.0, 228.0)
    (told,) = retuned((Note("n1", 0.0, 1.0, 60, 30.0, bends=(bend,)),), 0.0, 30.0)
    assert (told.midi, told.cents) == (60, 0.0)
    assert (told.bends[0].target_cents, told.bends[0].reached_cents) == (200.0, 198.0)


def test_a_slide_leads_to_the_note_it_led_to():
    """Of two notes that both stood just under halfway, one comes to lie past it."""
    first = Note("n1", 0.0, 1.0, 60, 0.0, slide=Slide("legato", 200.0, "n2"))
    told = retuned((first, Note("n2", 1.0, 2.0, 62, 40.0)), 0.0, -20.0)
    assert [note.midi for note in told] == [60, 63]
    assert told[0].slide.cents == 300.0


def test_nothing_moves_where_the_tuning_stays():
    note = Note("n1", 0.0, 1.0, 60, 49.0)
    assert retuned((note,), 3.0, 3.0) == (note,)
