import numpy as np
import pytest

from tests import signals
from transcribe.notes.attack import Strike, envelope
from transcribe.notes.lines import Stretch
from transcribe.notes.moves import Line
from transcribe.notes.naming import Sounded, dead_notes, named_anew, named_notes
from transcribe.notes.note import Note, Slide
from transcribe.notes.part import Part
from transcribe.settings import NoteSettings

FIRST = Note("n1", 0.2, 0.5, 57, slide=Slide("legato", 200.0, "n2"))
SECOND = Note("n2", 0.5, 0.9, 59, attack="slide")


def test_a_knock_is_written_where_the_hand_was():
    loud = envelope(signals.recording(signals.tone(signals.steady(220.0, 2.0))))
    notes = dead_notes((Strike(1.2, 0.9, 20.0, 20.0, -20.0),), (FIRST, SECOND), loud)
    assert [(note.id, note.midi, note.mute) for note in notes] == [
        ("n1", 57, "none"),
        ("n2", 59, "none"),
        ("n3", 59, "dead"),
    ]


def test_a_knock_at_a_note_is_that_note():
    loud = envelope(signals.recording(signals.tone(signals.steady(220.0, 2.0))))
    assert dead_notes((Strike(0.21, 0.9, 20.0, 20.0, -20.0),), (FIRST, SECOND), loud) == (FIRST, SECOND)


def test_slides_keep_their_goal_under_its_new_name():
    early = Note("n9", 0.0, 0.1, 50)
    named = named_anew((SECOND, FIRST, early))
    assert [(note.id, note.midi) for note in named] == [("n1", 50), ("n2", 57), ("n3", 59)]
    assert named[1].slide == Slide("legato", 200.0, "n3")


def test_a_slide_to_a_note_that_was_left_out_is_forgotten():
    assert named_anew((FIRST,))[0].slide is None


def sounded(*parts, sound):
    """The notes of parts one after another, each a stretch of its own."""
    told = []
    for part in parts:
        midi = np.full(round((part.end_s - part.onset_s) / 0.01), float(part.midi))
        line = Line(part.onset_s, 0.01, midi, np.ones(midi.size))
        strike = Strike(part.onset_s, 0.9, 20.0, 20.0, 10.0)
        told.append(Sounded(part, Stretch(line, part.onset_s, part.end_s, strike), line, is_last=True))
    recording = signals.recording(sound)
    return named_notes(tuple(told), recording, envelope(recording), offset_semitones=0.0, settings=NoteSettings())


def pluck(midi, level=0.5):
    return signals.plucked(signals.steady(signals.hz(midi), 0.4), level=level)


@pytest.mark.parametrize("kind", ["legato", "shift"])
def test_a_slide_leads_to_the_note_after_whether_that_is_picked_or_not(kind):
    first, second = Part(0.1, 0.5, 57, 0.0, "picked", slide=(kind, 280.0)), Part(0.5, 0.9, 60, 0.0, "picked")
    sound = signals.placed((0.1, pluck(57)), (0.5, pluck(60)), seconds=1.0)
    (left, _), (reached, _) = sounded(first, second, sound=sound)
    assert left.slide == Slide(kind, 300.0, reached.id)
    assert reached.slide is None


def test_a_note_much_softer_than_the_same_pitch_just_before_may_be_its_echo():
    same = (Part(0.1, 0.5, 57, 0.0, "picked"), Part(0.5, 0.9, 57, 0.0, "picked"))
    sound = signals.placed((0.1, pluck(57)[:8500]), (0.5, pluck(57, level=0.05)), seconds=1.0)
    (_, first), (_, echo) = sounded(*same, sound=sound)
    assert first.repeats_db == 0.0
    assert echo.repeats_db == pytest.approx(20.0, abs=2.0)
    other = (same[0], Part(0.5, 0.9, 60, 0.0, "picked"))
    assert sounded(*other, sound=sound)[1][1].repeats_db == 0.0
