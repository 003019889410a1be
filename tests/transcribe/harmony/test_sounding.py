from fractions import Fraction

import pytest

from transcribe.errors import HarmonyError
from transcribe.harmony.sounding import Sounded, sounded, sounding_pitch, strength
from transcribe.notes.note import Bend, Note
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing


def bent(cents, kind="bend"):
    start = 0.0 if kind == "pre-bend" else 0.1
    return Note("n1", 0.0, 1.0, 62, bends=(Bend(kind, start, max(start, 0.2), 1.0, cents, cents),))


@pytest.mark.parametrize(("cents", "pitch"), [(50, 62), (75, 62), (100, 63), (200, 64), (300, 65)])
def test_a_bend_sounds_where_it_is_aimed_and_a_curl_at_its_fret(cents, pitch):
    assert sounding_pitch(bent(float(cents))) == pitch


def test_a_bend_that_falls_short_still_counts_at_its_target():
    short = Note("n1", 0.0, 1.0, 62, bends=(Bend("bend", 0.1, 0.2, 1.0, 200.0, 160.0),))
    assert sounding_pitch(short) == 64


def test_a_dead_note_has_no_pitch():
    assert sounded([Note("n1", 0.0, 1.0, 62, mute="dead")], {}, None) == ()


def test_places_come_from_the_written_time():
    rhythm = Rhythm(120.0, Meter(4, 4), 1.0, pickup_beats=Fraction(1))
    timings = {"n1": Timing(0, Fraction(1, 2), Fraction(1, 2)), "n2": Timing(2, Fraction(1), Fraction(2))}
    found = sounded([Note("n1", 0.75, 1.0, 60), Note("n2", 3.5, 4.5, 62)], timings, rhythm)
    assert [(note.start, note.length) for note in found] == [(Fraction(-1, 2), Fraction(1, 2)), (5, 2)]


def test_a_ringing_string_is_heard_with_the_note_after_it_and_a_lazy_finger_is_not():
    ringing = [Note("n1", 0.0, 1.0, 60), Note("n2", 0.5, 1.0, 64)]
    assert sounded(ringing, {}, None)[0].held_until == 2
    lazy = [Note("n1", 0.0, 0.55, 60), Note("n2", 0.5, 1.0, 64)]
    assert sounded(lazy, {}, None)[0].held_until < 2


def test_compound_time_has_two_strong_places():
    six_eight = Rhythm(90.0, Meter(6, 8), 0.0)
    assert [strength(Fraction(eighth, 2), six_eight) for eighth in range(6)] == [1.0, 0.5, 0.5, 0.85, 0.5, 0.5]


def test_a_note_rings_no_shorter_than_it_is_written():
    with pytest.raises(HarmonyError, match="as long as it is written"):
        Sounded("n1", 60, 60, Fraction(0), Fraction(1), Fraction(1, 2))
