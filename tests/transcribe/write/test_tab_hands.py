"""Note names, fingers and strokes on their beats."""

from fingering.passage import Placement
from transcribe.document.model import TakeNote
from transcribe.notes.note import Note
from transcribe.write.tab_hands import finger_rows, name_row, stroke_row


def take(name, finger=1, stroke=None):
    return TakeNote(Note(name, 0.0, 1.0, 60), Placement(name, 3, 5, finger, stroke))


def test_names_that_would_touch_are_left_out():
    placed = [(0, [take("n9")]), (3, [take("n10")]), (6, [take("n11")]), (10, [take("n12")])]
    assert name_row(placed, 20) == "n9 n10    n12"
    assert name_row(placed, 11) == "n9 n10"


def test_fingers_of_a_chord_stand_from_high_to_low_and_unknown_ones_are_blank():
    placed = [(0, [take("a", 1), take("b", 3)]), (4, [take("c", None)]), (8, [take("d", 0)])]
    assert finger_rows(placed, 12) == ["1       0", "3"]
    assert finger_rows([(0, [TakeNote(Note("a", 0.0, 1.0, 60))])], 4) == []


def test_strokes_are_one_sign_where_one_stroke_plays_all():
    placed = [
        (0, [take("a", stroke="down"), take("b", stroke="down")]),
        (4, [take("c", stroke="up")]),
        (8, [take("d", stroke="a"), take("e", stroke="m"), take("f", stroke="down")]),
        (12, [take("g")]),
    ]
    assert stroke_row(placed, 20) == "⊓   V   am⊓"
    assert stroke_row([(0, [take("a")])], 4) == ""
