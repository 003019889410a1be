"""Two ways of hearing one take: told as one, or left to the surer."""

import pytest

from transcribe.notes.hear import Heard
from transcribe.notes.note import Doubt, Note
from transcribe.notes.surer import better


def heard(*confidences, midi=60):
    notes = tuple(Note(f"n{k + 1}", k, k + 0.5, midi, confidence=sure) for k, sure in enumerate(confidences))
    return Heard(notes, 0.0, ())


@pytest.mark.parametrize(
    ("line", "several"),
    [
        ((0.5, 0.6, 0.9), (0.95, 0.95, 0.95)),
        ((0.95,), (0.95,) * 8),  # the line missed most of it
        ((), (0.9,)),
    ],
)
def test_a_line_that_doubts_itself_is_left_to_the_several_voices(line, several):
    other = heard(*several, midi=62)
    assert better(heard(*line), other) is other


@pytest.mark.parametrize(
    ("line", "several"),
    [
        ((0.99, 0.95, 0.97), (0.5, 0.5, 0.5)),
        ((0.5, 0.6, 0.9), (0.4, 0.4)),  # the other is no better
        ((), ()),
    ],
)
def test_a_line_that_is_surer_keeps_its_notes(line, several):
    told = better(heard(*line), heard(*several))
    assert [note.confidence for note in told.notes] == list(line)


def test_dead_notes_speak_neither_for_nor_against():
    line, other = heard(0.95, 0.95), heard(0.96, 0.96)
    dead = tuple(Note(f"d{k}", 3.0 + k, 3.1 + k, 60, mute="dead") for k in range(8))
    assert len(better(Heard((*line.notes, *dead), 0.0, ()), other).notes) == 10


def together(lower, upper, *, interval=12, count=4):
    """A line of the several voices, each note with another ``interval`` above it a moment later."""
    notes = [Note(f"n{k}", k, k + 0.5, 50 + k, confidence=lower) for k in range(count)]
    notes += [Note(f"o{k}", k + 0.02, k + 0.4, 50 + k + interval, confidence=upper) for k in range(count)]
    doubts = tuple(Doubt("octave", note.id) for note in notes)
    return Heard(tuple(sorted(notes, key=lambda note: note.onset_s)), 0.0, doubts)


@pytest.mark.parametrize("interval", [12, 19, 24])
def test_partials_heard_as_notes_do_not_outvote_the_line(interval):
    """Overdriven and muted, the second partial of each note stands out; one pitch at a time was played."""
    line = Heard(tuple(Note(f"n{k}", k, k + 0.5, 50 + k, confidence=0.9) for k in range(4)), 0.0, ())
    told = better(line, together(0.97, 0.93, interval=interval))
    assert [note.midi for note in told.notes] == [50, 51, 52, 53]


def test_where_the_line_is_lost_the_several_voices_keep_the_surer_of_note_and_partial():
    lost = Heard((Note("n1", 0, 0.5, 70, confidence=0.3),), 0.0, ())
    told = better(lost, together(0.7, 0.95))
    assert [note.midi for note in told.notes] == [62, 63, 64, 65]
    assert {doubt.note for doubt in told.doubts} == {"o0", "o1", "o2", "o3"}
    assert {doubt.why for doubt in told.doubts} == {"octave"}, "what was unlikely goes in silence"


@pytest.mark.parametrize(
    ("interval", "words"), [(12, "an octave above"), (19, "a twelfth above"), (24, "two octaves above")]
)
def test_a_likely_note_that_is_left_out_is_told_of(interval, words):
    line = Heard(tuple(Note(f"n{k}", k, k + 0.5, 50 + k, confidence=0.9) for k in range(4)), 0.0, ())
    told = better(line, together(0.97, 0.93, interval=interval))
    assert [(doubt.note, doubt.why.split(", ")[1]) for doubt in told.doubts] == [(n.id, words) for n in told.notes]
    assert not better(line, together(0.97, 0.85, interval=interval)).doubts


def test_a_likely_note_left_out_below_is_told_of_from_above():
    lost = Heard((Note("n1", 0, 0.5, 70, confidence=0.3),), 0.0, ())
    told = better(lost, together(0.92, 0.95))
    assert [d.why for d in told.doubts if d.about] == ["perhaps another string sounds with it, an octave below"] * 4


def test_octaves_all_but_certain_and_other_intervals_are_kept():
    lost = Heard((Note("n1", 0, 0.5, 70, confidence=0.3),), 0.0, ())
    assert len(better(lost, together(0.99, 0.985)).notes) == 8
    assert len(better(lost, together(0.99, 0.9, interval=7)).notes) == 8
