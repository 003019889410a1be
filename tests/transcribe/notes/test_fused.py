"""A line and several voices told as one: whose notes, whose ends, whose gestures."""

from dataclasses import replace

import pytest

from transcribe.notes.fused import fused
from transcribe.notes.hear import Heard
from transcribe.notes.note import Bend, Doubt, Note, Slide

FIRST = Note("n1", 0.0, 0.4, 60, confidence=0.99, attack="picked")
SECOND = Note("n2", 0.5, 0.8, 62, confidence=0.98, attack="hammer-on")


def line(*notes, doubts=()):
    return Heard(notes, 4.0, doubts, {note.id: {"of": float(note.id[1:])} for note in notes if note.id[0] == "n"})


def pitches(heard):
    return [(note.id, note.midi, note.onset_s, note.offset_s) for note in heard.notes]


def test_notes_of_both_keep_the_lines_gestures_and_end_where_the_maps_say():
    several = line(replace(FIRST, offset_s=0.5, onset_s=0.02), replace(SECOND, attack="picked", offset_s=1.5))
    told = fused(line(FIRST, SECOND), several)
    assert pitches(told) == [("n1", 60, 0.0, 0.5), ("n2", 62, 0.5, 1.5)]
    assert told.notes[1].attack == "hammer-on"
    assert told.tuning_offset_cents == 4.0


def test_a_note_the_line_lacks_comes_from_the_maps_with_its_doubt_and_grounds():
    missed = Note("n2", 0.5, 0.9, 60, confidence=0.8, attack="picked")
    several = line(replace(FIRST, offset_s=0.5), missed, doubts=(Doubt("weak", "n2"), Doubt("the take")))
    told = fused(line(replace(FIRST, offset_s=0.9)), several)
    assert pitches(told) == [("n1", 60, 0.0, 0.5), ("n2", 60, 0.5, 0.9)], (
        "the note before ends where it is picked again"
    )
    assert told.doubts == (Doubt("weak", "n2"),)
    assert told.grounds == {"n1": {"of": 1.0}, "n2": {"of": 2.0}}
    unsure = replace(missed, confidence=0.45)
    assert len(fused(line(FIRST), line(FIRST, unsure)).notes) == 1


@pytest.mark.parametrize(("confidence", "kept"), [(0.9, 1), (0.99, 2)])
def test_what_sounds_together_with_a_line_must_be_sure(confidence, kept):
    ghost = Note("n2", 0.1, 0.38, 72, confidence=confidence)
    assert len(fused(line(FIRST), line(FIRST, ghost)).notes) == kept


def test_of_two_readings_of_one_moment_the_surer_stays():
    octave = Note("n1", 0.01, 0.4, 48, confidence=0.95)
    unsure = replace(FIRST, confidence=0.5)
    assert [note.midi for note in fused(line(unsure), line(octave)).notes] == [48]
    assert [note.midi for note in fused(line(FIRST), line(octave)).notes] == [60]


def test_what_the_line_alone_is_unsure_of_is_left_out():
    assert fused(line(replace(FIRST, confidence=0.3)), line(SECOND)).notes[0].midi == 62
    assert len(fused(line(replace(FIRST, confidence=0.7)), line(SECOND)).notes) == 2


def test_a_note_cut_short_loses_the_bends_after_its_end():
    early, late = Bend("bend", 0.1, 0.15, 0.9, 200.0, 200.0), Bend("release", 0.6, 0.7, 0.9, 0.0, 0.0)
    told = fused(line(replace(FIRST, offset_s=0.9, bends=(early, late))), line(replace(FIRST, offset_s=0.5)))
    assert told.notes[0].bends == (replace(early, end_s=0.5),)


def test_slides_lead_to_the_note_that_comes_next():
    there = replace(FIRST, slide=Slide("legato", 200.0, "n2"), offset_s=0.5)
    arrived = replace(SECOND, attack="slide")
    kept = fused(line(there, arrived), line(replace(FIRST, offset_s=0.5), SECOND))
    assert kept.notes[0].slide == Slide("legato", 200.0, "n2")
    late = fused(line(there, arrived), line(replace(FIRST, offset_s=0.52), replace(SECOND, onset_s=0.54)))
    assert late.notes[0].offset_s == late.notes[1].onset_s == 0.5, "the string that slides on is the same"
    between = Note("n2", 0.25, 0.49, 61, confidence=0.99)
    cut = fused(line(there, arrived), line(replace(FIRST, offset_s=0.25), between, replace(SECOND, id="n3")))
    assert [note.midi for note in cut.notes] == [60, 61, 62]
    assert cut.notes[0].slide is None
    found = Note("n1", 0.1, 0.4, 65, confidence=0.99, slide=Slide("shift", -300.0, "n2"))
    led = fused(line(SECOND), line(found, SECOND)).notes
    assert led[0].slide == Slide("shift", -300.0, "n2"), "the maps' slide goes to the line's note"


def test_dead_notes_of_either_stay_where_nothing_else_is_told():
    dead = Note("n3", 1.0, 1.05, 40, mute="dead")
    told = fused(line(FIRST, dead), line(FIRST, replace(dead, onset_s=1.02), Note("n4", 2.0, 2.05, 40, mute="dead")))
    assert [(note.onset_s, note.mute) for note in told.notes] == [(0.0, "none"), (1.0, "dead"), (2.0, "dead")]


def test_a_note_that_the_next_is_bent_to_ends_where_the_line_says():
    high, bent = replace(FIRST, midi=69), Note("n2", 0.4, 1.2, 67, confidence=0.99)
    pushed = replace(bent, bends=(Bend("bend", 0.5, 0.6, 1.2, 200.0, 201.0),))
    several = line(replace(high, offset_s=1.2), bent)
    assert fused(line(high, pushed), several).notes[0].offset_s == 0.4
    assert fused(line(high, bent), several).notes[0].offset_s == 1.2, "without the bend it rings"


def test_a_pitch_that_comes_again_after_another_did_not_ring_through_it():
    again = Note("n3", 0.9, 1.2, 60, confidence=0.98, attack="picked")
    ringing = replace(FIRST, offset_s=0.9)
    told = fused(line(FIRST, SECOND, again), line(ringing, SECOND, again))
    assert [note.offset_s for note in told.notes] == [0.4, 0.8, 1.2]
    kept = fused(line(FIRST, SECOND), line(ringing, SECOND))
    assert kept.notes[0].offset_s == 0.9, "what does not come again may ring on"


@pytest.mark.parametrize(("tuning", "midi", "cents"), [(14.0, 60, 10.0), (-49.0, 61, 47.0)])
def test_what_the_maps_tell_is_counted_from_the_tuning_of_the_line(tuning, midi, cents):
    """The line stands 4 cents sharp; -49 cents is 51 on the circle of a semitone."""
    several = replace(line(replace(FIRST, midi=midi, offset_s=0.5), replace(SECOND, midi=midi, cents=0.0)))
    several = replace(several, tuning_offset_cents=tuning)
    told = fused(line(FIRST), several)
    assert [note.midi for note in told.notes] == [60, 60]
    assert told.notes[1].cents == cents
    assert told.tuning_offset_cents == 4.0


def test_one_string_is_not_picked_twice_in_a_moment():
    """The line's one start, the maps' two of 58 ms: neither two notes nor one cut to nothing."""
    played = Note("n1", 0.53, 0.85, 66, confidence=0.98, attack="picked")
    early = Note("n1", 0.50, 0.56, 66, confidence=0.66, attack="picked")
    late = Note("n2", 0.558, 0.82, 66, confidence=0.6, attack="picked")
    assert pitches(fused(line(played), line(early, late))) == [("n1", 66, 0.53, 0.82)]
    again = replace(late, onset_s=0.59)
    assert len(fused(line(played), line(early, again)).notes) == 2, "90 ms: quick hands can"
