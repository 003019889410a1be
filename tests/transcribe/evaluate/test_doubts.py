"""Wrong notes caught, right ones marked."""

from dataclasses import replace

from transcribe.document.model import TakeDocument, TakeNote
from transcribe.evaluate.scores import Caught
from transcribe.evaluate.takes import format_scores, score_takes, scores_to_json
from transcribe.notes.note import Bend, Doubt, Note

PLAYED = tuple(Note(f"r{k}", k, k + 0.5, 60 + k, attack="picked") for k in range(5))
HEARD = (
    *(replace(note, id=f"n{k}") for k, note in enumerate(PLAYED)),
    Note("n5", 1.3, 1.5, 50, attack="picked"),  # two that nobody played
    Note("n6", 2.3, 2.5, 50, attack="picked"),
)


def document(notes, *doubts):
    return TakeDocument(notes=tuple(TakeNote(note) for note in notes), doubts=doubts)


def scored(*doubts, heard=HEARD):
    return score_takes(document(heard, *doubts), document(PLAYED))


def test_wrong_notes_are_caught_and_right_ones_marked():
    scores = scored(Doubt("?", "n5", about="note"), Doubt("?", "n0", about="note"), Doubt("?"))
    assert scores.note_doubts == Caught(wrong=2, caught=1, right=5, marked=1)
    assert (scores.note_doubts.caught_share, scores.note_doubts.marked_share) == (0.5, 0.2)


def test_a_doubt_that_does_not_say_what_it_is_about_counts():
    assert scored(Doubt("?", "n5")).note_doubts.caught == 1


def test_doubts_about_the_hand_or_the_beat_mark_no_note():
    scores = scored(Doubt("stretch", "n1", about="fingering"), Doubt("late", "n2", about="rhythm"))
    assert scores.note_doubts.marked == 0


def test_attacks_and_bends_are_judged_by_their_own_doubts():
    bend = Bend("bend", 2.1, 2.2, 2.4, 200.0, 200.0)
    heard = (replace(HEARD[0], attack="hammer-on"), HEARD[1], replace(HEARD[2], bends=(bend,)), *HEARD[3:])
    scores = scored(Doubt("?", "n0", about="attack"), Doubt("?", "n2", about="gesture"), heard=heard)
    assert scores.attack_doubts == Caught(1, 1, 4, 0)
    assert scores.gesture_doubts == Caught(1, 1, 0, 0)
    assert scores.note_doubts.marked == 0


def test_the_table_and_the_json_tell_it():
    scores = scored(Doubt("?", "n5", about="note"))
    assert "1 of 2 (50%)" in format_scores(scores)
    assert "notes missed, which no doubt can mark" in format_scores(scores)
    assert scores_to_json(scores)["note_doubts"]["caught_share"] == 0.5


def test_sums_of_takes():
    assert Caught(2, 1, 5, 1) + Caught(1, 1, 4, 0) == Caught(3, 2, 9, 1)
