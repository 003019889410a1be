from tests import signals
from transcribe.notes.attack import Strike, envelope
from transcribe.notes.naming import dead_notes, named_anew
from transcribe.notes.note import Note, Slide

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
