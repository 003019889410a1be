import pytest

from tests.harmony_lines import line
from transcribe.harmony.chord import chord_from_text
from transcribe.harmony.degrees import chord_degree, degree_words, following_notes, key_degrees, preceding_notes
from transcribe.harmony.key import key_from_text


def test_a_blues_line_in_a_minor():
    notes = line(69, 72, 74, 75, 76, 75, 74, 67)
    assert list(key_degrees(notes, key_from_text("A minor")).values()) == ["1", "b3", "4", "#4", "5", "b5", "4", "b7"]


@pytest.mark.parametrize(
    ("symbol", "pitches", "degrees"),
    [
        ("G", (67, 71, 74, 72, 64), "1 3 5 4 6"),
        ("A7", (69, 73, 67, 72, 70), "1 3 b7 b3 b2"),
        ("Dm7", (62, 65, 69, 72), "1 b3 5 b7"),
        ("G13", (64, 69), "13 9"),
        ("E7#9", (67,), "#9"),
        ("Bdim7", (59, 62, 65, 68), "1 b3 b5 bb7"),
    ],
)
def test_degrees_in_a_chord(symbol, pitches, degrees):
    assert [chord_degree(pitch, chord_from_text(symbol)) for pitch in pitches] == degrees.split()


def test_voices_of_double_stops_go_on_by_their_place():
    notes = line((59, 67), (60, 69))
    after, before = following_notes(notes), preceding_notes(notes)
    assert [(note.pitch, after[note.id].pitch) for note in notes[:2]] == [(59, 60), (67, 69)]
    assert [(note.pitch, before[note.id].pitch) for note in notes[2:]] == [(60, 59), (69, 67)]


def test_the_nearest_note_goes_on_where_the_voices_change_in_number():
    notes = line((59, 67), 66)
    assert {note.pitch: following_notes(notes)[note.id].pitch for note in notes[:2]} == {59: 66, 67: 66}


@pytest.mark.parametrize(
    ("degree", "words"), [("1", "root"), ("b3", "minor 3rd"), ("#4", "sharp 4th"), ("b5", "flat 5th"), ("13", "13th")]
)
def test_degrees_in_words(degree, words):
    assert degree_words(degree) == words
