"""Two ways of hearing one take: told as one, or left to the surer."""

import pytest

from transcribe.notes.hear import Heard
from transcribe.notes.note import Note
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
