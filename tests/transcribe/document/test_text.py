"""Writing take documents: what goes out comes back, on lines a person can read."""

import json
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.strategies import single_lines
from tests.strategies_documents import documents
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.document.read import document_from_json
from transcribe.document.text import document_bytes, take_to_json
from transcribe.errors import DocumentError
from transcribe.notes.note import Bend, Contour, Doubt, Note, Slide

few = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))

NOTE = Note("n1", 0.5, 1.0, 62)


@few
@given(documents())
def test_write_then_read_gives_the_same(document):
    assert document_from_json(json.loads(document_bytes(document))) == document


@few
@given(documents())
def test_write_read_write_gives_the_same_bytes(document):
    data = document_bytes(document)
    assert document_bytes(document_from_json(json.loads(data))) == data


@few
@given(single_lines())
def test_measured_numbers_are_rounded_once(notes):
    """Unrounded seconds and cents move by less than a player or an ear can tell, and then stay put."""
    document = TakeDocument(tuple(TakeNote(note) for note in notes))
    again = document_from_json(take_to_json(document))
    assert document_from_json(take_to_json(again)) == again
    for before, after in zip(document.notes, again.notes, strict=True):
        assert abs(before.note.onset_s - after.note.onset_s) <= 0.00005001
        assert abs(before.note.cents - after.note.cents) <= 0.05001
        assert len(before.note.bends) == len(after.note.bends)


def test_keys_come_in_the_order_of_the_format():
    data = take_to_json(TakeDocument((TakeNote(NOTE),), doubts=(Doubt("soft"),)))
    assert list(data) == [
        "format", "version", "source", "instrument", "rhythm", "key", "vamp", "chords", "about", "about_sha256",
        "notes", "shapes", "contour", "doubts", "locked", "tool",
    ]  # fmt: skip
    assert list(data["notes"][0]) == [
        "id", "onset_s", "offset_s", "midi", "cents", "level_db", "confidence", "string", "fret", "finger", "pluck",
        "attack", "bends", "slide", "vibrato", "mute", "harmonic", "let_ring", "degree", "chord_degree", "tone",
        "bar", "beat", "value", "tie_to", "locked", "position", "string_weights",
    ]  # fmt: skip


def test_one_note_a_line_and_rounded():
    bend = Bend("bend", 0.6000049, 0.7123456, 0.9, 200.0, 193.4567)
    note = replace(NOTE, cents=-4.04, bends=(bend,), contour=Contour(0.5, 0.01, (1.23456, None)))
    text = document_bytes(TakeDocument((TakeNote(note), TakeNote(replace(NOTE, id="n2"))))).decode()
    lines = text.splitlines()
    assert sum(line.startswith('    {"id": ') for line in lines) == 2
    assert '"reach_s": 0.7123,' in text
    assert '"reached_cents": 193.5, "error_cents": -6.5}' in text
    assert '"cents": -4.0,' in text
    assert '      {"note": "n1", "start_s": 0.5, "cents": [1.2, null]}' in lines


def test_a_note_shorter_than_the_rounding_stays_a_note():
    blip = replace(NOTE, onset_s=0.50001, offset_s=0.50002)
    read = document_from_json(take_to_json(TakeDocument((TakeNote(blip),)))).notes[0].note
    assert read.onset_s == 0.50001
    assert read.offset_s == 0.50002


def test_a_track_with_another_hop_tells_it():
    first = replace(NOTE, contour=Contour(0.5, 0.01, (0.0,)))
    second = replace(NOTE, id="n2", contour=Contour(0.5, 0.005, (0.0,)))
    contour = take_to_json(TakeDocument((TakeNote(first), TakeNote(second))))["contour"]
    assert contour["hop_s"] == 0.01
    assert [track.get("hop_s") for track in contour["tracks"]] == [None, 0.005]


def test_a_name_that_utf8_cannot_hold_is_escaped():
    document = TakeDocument((), tool={"name": "half \ud83c of a pair"})
    assert document_from_json(json.loads(document_bytes(document))) == document


@pytest.mark.parametrize(
    ("notes", "says"),
    [
        ((NOTE, NOTE), "same id"),
        ((replace(NOTE, slide=Slide("legato", 200.0, "n9")),), "slide.to"),
        ((replace(NOTE, cents=float("nan")),), "cents"),
    ],
)
def test_a_broken_document_is_not_written(notes, says):
    with pytest.raises(DocumentError, match=says):
        document_bytes(TakeDocument(tuple(TakeNote(note) for note in notes)))


@few
@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=5))
def test_numbers_are_never_written_as_minus_zero(cents):
    note = replace(NOTE, contour=Contour(0.5, 0.01, tuple(cents)))
    assert b"-0.0," not in document_bytes(TakeDocument((TakeNote(note),))).replace(b"]", b",")
