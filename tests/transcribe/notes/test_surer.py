"""Two ways of hearing one take: which is kept."""

import pytest

from transcribe.notes.hear import Heard
from transcribe.notes.note import Note
from transcribe.notes.surer import doubts_itself, surer


def heard(*confidences):
    notes = tuple(Note(f"n{k + 1}", k, k + 0.5, 60, confidence=sure) for k, sure in enumerate(confidences))
    return Heard(notes, 0.0, ())


@pytest.mark.parametrize(
    ("line", "several", "kept"),
    [
        ((0.99, 0.95, 0.97), (1.0, 1.0, 1.0), "line"),  # a line that is sure stands, its gestures are finer
        ((0.5, 0.6, 0.9), (0.95, 0.95, 0.95), "several"),
        ((0.5, 0.6, 0.9), (0.4, 0.4), "line"),  # the other is no better
        ((0.95,), (0.95,) * 8, "several"),  # the line missed most of it
        ((), (0.9,), "several"),
        ((), (), "line"),
    ],
)
def test_the_way_that_is_likelier_right_is_kept(line, several, kept):
    ways = {"line": heard(*line), "several": heard(*several)}
    assert surer(ways["line"], ways["several"]) is ways[kept]


def test_a_line_doubts_itself_when_its_notes_are_unsure_or_few():
    assert doubts_itself(heard(0.7, 0.8), 2)
    assert doubts_itself(heard(0.99, 0.99), 4)
    assert not doubts_itself(heard(0.99, 0.99), 2)


def test_dead_notes_speak_neither_for_nor_against():
    line = heard(0.99, 0.99)
    dead = Note("n3", 3, 3.1, 60, mute="dead")
    assert not doubts_itself(Heard((*line.notes, dead), 0.0, ()), 2)
