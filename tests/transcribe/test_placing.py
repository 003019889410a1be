"""What the solver is told of the notes: which share a string, how far a string is pushed."""

from fractions import Fraction

from fingering import solve
from fingering.passage import Placement
from transcribe.document.model import TakeNote
from transcribe.notes.note import Bend, Note, Slide, Vibrato
from transcribe.placing import passage_from_notes, passage_from_takes
from transcribe.rhythm import Meter, Rhythm, Timing


def note(name, onset_s, midi, *, end_s=None, **gestures):
    return Note(name, onset_s, end_s or onset_s + 0.5, midi, **gestures)


def joins(*notes):
    return {pluck.id: (pluck.join, pluck.joined_to) for pluck in passage_from_notes(notes).plucks}


def test_a_hammered_note_shares_the_string_of_the_lower_note_that_stops_there():
    found = joins(note("a", 0.0, 57), note("b", 0.5, 60, attack="hammer-on"), note("c", 1.0, 57, attack="pull-off"))
    assert found == {"a": ("none", None), "b": ("hammer-on", "a"), "c": ("pull-off", "b")}


def test_no_string_is_shared_with_a_note_that_stopped_long_before_or_lies_on_the_wrong_side():
    assert joins(note("a", 0.0, 57, end_s=0.2), note("b", 0.5, 60, attack="hammer-on"))["b"] == ("none", None)
    assert joins(note("a", 0.0, 62), note("b", 0.5, 60, attack="hammer-on"))["b"] == ("none", None)


def test_a_slide_names_the_note_it_leaves():
    found = joins(note("a", 0.0, 57, slide=Slide("legato", 200, to="b")), note("b", 0.5, 59, attack="slide"))
    assert found["b"] == ("slide", "a")


def test_of_two_strings_that_ring_the_nearer_pitch_is_hammered_from():
    found = joins(note("low", 0.0, 45), note("near", 0.0, 57), note("b", 0.5, 59, attack="hammer-on"))
    assert found["b"] == ("hammer-on", "near")


def test_a_bend_asks_for_the_farthest_push_in_semitones():
    bent = note("a", 0.0, 62, bends=(Bend("bend", 0.1, 0.2, 0.4, 200, 170), Bend("release", 0.4, 0.45, 0.5, 0, 3)))
    (pluck,) = passage_from_notes([bent]).plucks
    assert pluck.bend_semitones == 2.0


def test_what_an_open_string_cannot_do_is_handed_on():
    shaken, slid = passage_from_notes(
        [note("a", 0.0, 64, vibrato=Vibrato(5, 20)), note("b", 0.5, 64, slide=Slide("in", 200))]
    ).plucks
    assert shaken.vibrato
    assert slid.slid_in


def test_notes_come_in_order_of_time_then_from_high_to_low():
    plucks = passage_from_notes([note("c", 1.0, 60), note("a", 0.0, 50), note("b", 0.0, 62)]).plucks
    assert [pluck.id for pluck in plucks] == ["b", "a", "c"]


def test_what_the_sound_says_of_the_strings_reaches_the_solver():
    weights = (0.1, 0.7, 0.2, 0.0, 0.0, 0.0)
    (pluck,) = passage_from_notes([note("a", 0.0, 64, string_weights=weights)]).plucks
    assert pluck.string_weights == weights


def test_what_a_person_fixed_reaches_the_solver_and_nothing_else_does():
    free = TakeNote(note("a", 0.0, 64), Placement("a", 2, 5, 1))
    fixed = TakeNote(note("b", 0.5, 64), Placement("b", 3, 9, 4), locked=("string", "finger"))
    first, second = passage_from_takes([free, fixed]).plucks
    assert (first.locked_string, first.locked_fret, first.locked_finger) == (None, None, None)
    assert (second.locked_string, second.locked_fret, second.locked_finger) == (3, None, 4)


def test_notes_tied_together_are_one_pluck_held_by_a_lock_on_any_of_them():
    first = TakeNote(note("a", 0.0, 64), tie_to="b")
    second = TakeNote(note("b", 0.5, 64), Placement("b", 3, 9, 4), locked=("string",))
    (pluck,) = passage_from_takes([first, second]).plucks
    assert (pluck.id, pluck.end_s, pluck.locked_string) == ("a", 1.0, 3)


def test_an_artificial_harmonic_is_fretted_an_octave_below_what_sounds():
    (pluck,) = passage_from_notes([note("a", 0.0, 76, harmonic="artificial")]).plucks
    assert (pluck.artificial, pluck.harmonic) == (True, False)
    (place,) = solve(passage_from_notes([note("a", 0.0, 76, harmonic="artificial")])).placements
    assert (64, 59, 55, 50, 45, 40)[place.string - 1] + place.fret == 64
    assert place.fret > 0
    assert place.touch_fret == place.fret + 12


def test_the_passage_knows_where_in_the_beat_notes_are_written():
    rhythm = Rhythm(100.0, Meter(4, 4), 1.0, pickup_beats=Fraction(3, 2))
    before = TakeNote(note("a", 0.4, 64), timing=Timing(0, Fraction(1), Fraction(1, 2)))
    after = TakeNote(note("b", 1.0, 64), timing=Timing(1, Fraction(0), Fraction(1)))
    heads = passage_from_takes([before, after], rhythm).plucks
    assert [pluck.beats for pluck in heads] == [Fraction(-1, 2), Fraction(0)]
    assert [pluck.beats for pluck in passage_from_takes([before, after]).plucks] == [None, None]
