"""Scores of whole take documents: against themselves, and with one thing wrong at a time."""

import copy
import json
from pathlib import Path

import pytest

from transcribe.document.read import document_from_json
from transcribe.errors import DocumentError
from transcribe.evaluate.takes import format_scores, score_takes, scores_to_json

FIXTURES = Path(__file__).parents[3] / "fixtures"


def reference(name):
    return json.loads((FIXTURES / "reference" / f"{name}.take.json").read_text(encoding="utf-8"))


@pytest.fixture
def slides():
    return reference("slipway.bright-electric")


@pytest.fixture
def bends():
    return reference("lamp-room.bright-electric")


def test_a_take_agrees_with_itself_wholly(bends):
    scores = score_takes(bends, document_from_json(bends))
    assert scores.notes.f == scores.notes_with_ends.f == scores.bends.f == scores.vibrato.f == 1.0
    assert scores.strings.share == scores.fingers.share == scores.rhythm.share == scores.attacks.share == 1.0
    assert scores.bend_size_error_cents.part(1.0) == 0.0
    assert scores.slides.f is None


def test_a_wrong_semitone_loses_the_note_and_all_on_it(bends):
    draft = copy.deepcopy(bends)
    draft["notes"][0]["midi"] += 1  # the note with a bend and a release
    scores = score_takes(draft, bends)
    count = len(bends["notes"])
    assert (scores.notes.right, scores.notes.wanted, scores.notes.written) == (count - 1, count, count)
    assert scores.bends.wanted - scores.bends.right == scores.bends.written - scores.bends.right == 2


def test_where_a_bend_stopped_is_measured_in_cents(bends):
    draft = copy.deepcopy(bends)
    for note in draft["notes"]:
        for bend in note["bends"]:
            bend["reached_cents"] += 7.0
    assert score_takes(draft, bends).bend_size_error_cents.part(0.5) == pytest.approx(7.0)


def test_a_late_end_costs_the_end_only(bends):
    draft = copy.deepcopy(bends)
    draft["notes"][-1]["offset_s"] += 1.0
    scores = score_takes(draft, bends)
    assert scores.notes.f == 1.0
    assert scores.notes_with_ends.wanted - scores.notes_with_ends.right == 1


def test_slides_and_attacks_are_told_apart(slides):
    draft = copy.deepcopy(slides)
    first = next(note for note in draft["notes"] if (note["slide"] or {}).get("kind") == "legato")
    first["slide"]["kind"] = "shift"
    arrival = next(note for note in draft["notes"] if note["id"] == first["slide"]["to"])
    arrival["attack"] = "picked"
    scores = score_takes(draft, slides)
    assert scores.slides.wanted - scores.slides.right == 1
    assert scores.attacks.judged - scores.attacks.right == 1
    assert scores.legato.wanted - scores.legato.right == 1


def test_place_finger_and_rhythm_are_judged_apart(bends):
    draft = copy.deepcopy(bends)
    one, two, three = draft["notes"][:3]
    one["string"], one["fret"] = one["string"] + 1, one["fret"] + 4
    two["finger"] = 4
    three["value"] = "1"
    scores = score_takes(draft, bends)
    count = len(draft["notes"])
    assert (scores.strings.right, scores.strings.judged) == (count - 1, count)
    assert (scores.fingers.right, scores.fingers.judged) == (count - 2, count - 1)
    assert (scores.rhythm.right, scores.rhythm.judged) == (count - 1, count)


def test_a_tempo_four_per_cent_off_still_counts(bends):
    draft = copy.deepcopy(bends)
    draft["rhythm"]["tempo_bpm"] *= 1.039
    assert score_takes(draft, bends).tempo.right == 1
    draft["rhythm"]["tempo_bpm"] *= 1.01
    assert score_takes(draft, bends).tempo.right == 0


def test_dead_notes_pair_by_onset_and_are_no_pitches():
    truth = reference("engine-deck.bright-electric")
    draft = copy.deepcopy(truth)
    dead = next(note for note in draft["notes"] if note["mute"] == "dead")
    dead["mute"] = "none"
    scores = score_takes(draft, truth)
    assert (scores.dead_notes.right, scores.dead_notes.wanted) == (1, 2)
    assert scores.notes.written == scores.notes.right + 1  # written as a pitch, it is invented


def test_nothing_is_invented_where_the_reference_cannot_tell():
    truth = json.loads((FIXTURES / "real" / "guit_em9.take.json").read_text(encoding="utf-8"))
    draft = copy.deepcopy(truth)
    extra = {"id": "x1", "onset_s": 5.0, "offset_s": 5.5, "midi": 76}
    draft["notes"].append(extra)
    assert score_takes(draft, truth).notes.f == 1.0
    extra["onset_s"], extra["offset_s"] = 0.7, 0.75
    draft["notes"].sort(key=lambda note: note["onset_s"])
    assert score_takes(draft, truth).notes.written == len(truth["notes"]) + 1


def test_what_is_no_take_document_is_refused(bends):
    with pytest.raises(DocumentError):
        score_takes({"format": "something else"}, bends)


def test_table_and_json_tell_the_same(bends):
    draft = copy.deepcopy(bends)
    del draft["notes"][2]
    scores = score_takes(draft, bends)
    table, told = format_scores(scores), scores_to_json(scores)
    count = len(bends["notes"])
    assert told["notes"]["f"] == round(2 * (count - 1) / (2 * count - 1), 4)
    assert f"{told['notes']['f']:.3f}" in table
    assert f"{count - 1} of {count}" in table
    assert told["slides"]["f"] is None
    assert json.loads(json.dumps(told)) == told
