from fractions import Fraction

from tests.harmony_lines import line
from transcribe.harmony.groups import groups_of
from transcribe.harmony.sounding import Sounded


def spans(notes):
    return [(group.start, group.end, group.pitches) for group in groups_of(notes)]


def test_notes_struck_together_are_a_group_and_octaves_are_not():
    assert spans(line((60, 64), 67, (48, 60))) == [(0, 1, (60, 64))]


def test_a_string_that_rings_on_belongs_to_the_next_moment():
    """E held for two quarters while C and then D sound under it."""
    held = Sounded("held", 76, 76, Fraction(0), Fraction(1), Fraction(2))
    moving = Sounded("moving", 72, 72, Fraction(1), Fraction(1), Fraction(2))
    assert spans((held, moving)) == [(1, 2, (72, 76))]


def test_a_broken_triad_is_a_group():
    assert spans(line(60, 64, 67, 72, length="1/2")) == [(0, 2, (60, 64, 67, 72))]


def test_a_scale_is_none():
    assert spans(line(60, 62, 64, 65, 67, 69, 71, 72, length="1/2")) == []


def test_a_pentatonic_run_is_none():
    assert spans(line(72, 69, 67, 64, 62, 60, 57, length="1/2")) == []


def test_a_slow_melody_of_thirds_is_none():
    assert spans(line(60, 64, 67, 72, length="2")) == []


def test_a_bent_note_ends_a_broken_chord():
    bent = [*line(60, 64, 67, 72, length="1/2")]
    bent[1] = Sounded("n2", 64, 62, bent[1].start, bent[1].length, bent[1].held_until)
    assert spans(tuple(bent)) == []


def test_a_dominant_steps_from_seventh_to_root():
    """G7 broken downwards: B G F D."""
    assert spans(line(71, 67, 65, 62, length="1/2")) == [(0, 2, (62, 65, 67, 71))]


def test_no_notes_are_no_groups():
    assert groups_of(()) == ()
