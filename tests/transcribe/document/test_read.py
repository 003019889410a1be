"""Reading take documents: the least that is enough, what is guessed, and every way a file can be wrong."""

import json
from fractions import Fraction

import pytest

from transcribe.document.read import document_from_json, read_document
from transcribe.document.text import take_to_json
from transcribe.errors import DocumentError, ReadError
from transcribe.notes.note import Doubt

OPEN = [64, 59, 55, 50, 45, 40]


def take(*notes, **more):
    numbered = [
        {"id": f"n{index}", "onset_s": index * 0.5, "offset_s": index * 0.5 + 0.5, "midi": 62, **note}
        for index, note in enumerate(notes, start=1)
    ]
    head = {"format": "takesheet/take", "version": 1, "instrument": {"open_strings_midi": OPEN}}
    return {**head, "notes": numbered, **more}


def read_notes(*notes, **more):
    return document_from_json(take(*notes, **more)).notes


def test_pitches_and_times_alone_are_enough():
    document = document_from_json(take({}, {"midi": 64}))
    assert [note.note.midi for note in document.notes] == [62, 64]
    assert document.notes[0].placement is None
    assert document.rhythm is None
    assert document.instrument.open_strings_midi == tuple(OPEN)


def test_a_document_without_notes():
    head = {"format": "takesheet/take", "version": 1, "instrument": {"open_strings_midi": OPEN}}
    assert document_from_json(head).notes == ()


def test_null_everywhere_is_the_same_as_absent():
    plain = document_from_json(take({}, {}))
    full = take_to_json(plain)
    for key in full:
        if key not in ("format", "version", "instrument", "notes"):
            full[key] = None
    for note in full["notes"]:
        for key in set(note) - {"id", "onset_s", "offset_s", "midi"}:
            note[key] = None
    full["instrument"] = {"open_strings_midi": OPEN, "frets": None, "capo": None, "reference_hz": None}
    assert document_from_json(full) == plain


def test_fractions_are_exact():
    (note,) = read_notes({"bar": 2, "beat": "5/3", "value": "1/3"})
    assert note.timing.beat == Fraction(5, 3)
    assert note.timing.value == Fraction(1, 3)


def test_unknown_keys_survive_at_every_level():
    data = take(
        {
            "x-note": 1,
            "bends": [{"kind": "bend", "target_cents": 200, "x-bend": [1]}],
            "slide": {"kind": "out", "cents": -200, "x-slide": {"a": 1}},
            "vibrato": {"rate_hz": 5, "extent_cents": 20, "x-vibrato": None},
        },
        rhythm={"tempo_bpm": 96, "x-rhythm": "swampy"},
        key={"tonic": "A", "x-key": 1},
        source={"file": "a.wav", "x-source": 1},
        chords=[{"symbol": "A", "x-chord": 1}],
        contour={"hop_s": 0.01, "x-contour": 1, "tracks": [{"note": "n1", "cents": [0.0], "x-track": 1}]},
        doubts=[{"note": "n1", "why": "soft", "x-doubt": 1}],
        tool={"name": "other", "x-tool": 1},
    )
    data["instrument"]["x-instrument"] = 1
    data["x-top"] = {"deep": [1, {"er": None}]}
    out = take_to_json(document_from_json(data))
    note = out["notes"][0]
    assert note["x-note"] == 1
    assert note["bends"][0]["x-bend"] == [1]
    assert note["slide"]["x-slide"] == {"a": 1}
    assert "x-vibrato" in note["vibrato"]
    assert out["rhythm"]["x-rhythm"] == "swampy"
    assert out["x-top"] == {"deep": [1, {"er": None}]}
    for name in ("key", "source", "instrument", "contour", "tool"):
        assert out[name][f"x-{name}"] == 1
    assert out["chords"][0]["x-chord"] == 1
    assert out["contour"]["tracks"][0]["x-track"] == 1
    assert out["doubts"][0]["x-doubt"] == 1


def test_half_told_things_are_kept():
    """A finger with no string, a beat with no bar, a meter with no tempo: too little to use, not ours to throw away."""
    data = take({"finger": 2, "beat": "1", "slide": {"cents": 100}}, rhythm={"meter": "3/4"}, key={"mode": "minor"})
    document = document_from_json(data)
    assert document.notes[0].placement is None
    assert document.rhythm is None
    out = take_to_json(document)
    assert out["notes"][0]["finger"] == 2
    assert out["notes"][0]["beat"] == "1"
    assert out["notes"][0]["slide"] == {"cents": 100}
    assert out["rhythm"] == {"meter": "3/4"}
    assert out["key"] == {"mode": "minor"}


def test_a_fret_follows_from_string_pitch_and_capo():
    # B3 is string 2 open; D4 (62) lies 3 frets above it, 1 above a capo at fret 2
    assert read_notes({"string": 2})[0].placement.fret == 3
    capo = {"open_strings_midi": OPEN, "capo": 2}
    assert read_notes({"string": 2}, instrument=capo)[0].placement.fret == 1
    assert read_notes({"string": 1})[0].placement is None  # D4 lies below the open first string


def test_a_bend_by_name_and_size_spans_its_note():
    (note,) = read_notes({"bends": [{"kind": "bend", "target_cents": 200}, {"kind": "release"}]})
    up, down = note.note.bends
    assert (up.start_s, up.target_cents, up.reached_cents) == (0.5, 200, 200)
    assert up.end_s == down.start_s == 0.75
    assert down.end_s == 1.0
    assert down.target_cents == 0


def test_a_bend_with_no_size_is_a_whole_tone_and_a_doubt():
    document = document_from_json(take({"bends": [{"kind": "bend"}]}))
    assert document.notes[0].note.bends[0].target_cents == 200
    assert document.doubts == (Doubt("the size of the bend was not given: a whole tone is assumed", "n1"),)
    assert document_from_json(take_to_json(document)) == document


def test_target_and_reached_follow_from_each_other():
    (note,) = read_notes({"bends": [{"reached_cents": 193.5, "error_cents": -6.5}]})
    assert note.note.bends[0].target_cents == 200
    (note,) = read_notes({"bends": [{"target_cents": 200, "error_cents": -6.5}]})
    assert note.note.bends[0].reached_cents == 193.5


def test_a_slide_with_no_goal_reaches_the_next_note():
    first, _ = read_notes({"slide": {"kind": "legato"}}, {"midi": 64})
    assert first.note.slide.to == "n2"
    assert first.note.slide.cents == 200
    first, _ = read_notes({"slide": {"to": "n2"}}, {"attack": "picked"})
    assert first.note.slide.kind == "shift"


def test_bar_one_is_found_from_the_notes():
    # 120 bpm: a note on beat 2 of bar 2 in 4/4 lies 5 quarters = 2.5 s after bar 1 begins
    note = {"onset_s": 3.0, "offset_s": 4.0, "bar": 2, "beat": "1", "value": "1"}
    document = document_from_json(take(note, rhythm={"tempo_bpm": 120}))
    assert document.rhythm.first_downbeat_s == pytest.approx(0.5)
    pickup = {"bar": 0, "beat": "0", "value": "1/2"}
    document = document_from_json(take(pickup, rhythm={"tempo_bpm": 120, "meter": "3/4"}))
    assert document.rhythm.pickup_beats == Fraction(1, 2)
    assert document.rhythm.first_downbeat_s == pytest.approx(0.75)


def test_chords_follow_one_another_where_no_place_is_told():
    chords = [{"symbol": "G", "end_beat": "2"}, {"symbol": "C"}, {"symbol": "D7", "start_beat": "8"}]
    read = document_from_json(take({}, chords=chords, rhythm={"tempo_bpm": 90, "meter": "3/4"})).chords
    assert [(chord.start_beat, chord.end_beat) for chord in read] == [(0, 2), (2, 8), (8, 11)]
    assert [chord.source for chord in read] == ["given"] * 3


def test_an_entry_that_names_no_chord_is_kept():
    document = document_from_json(take({}, chords=[{"symbol": "G"}, {"start_beat": "4", "x-colour": "warm"}]))
    assert [chord.symbol for chord in document.chords] == ["G"]
    assert take_to_json(document)["chords"][1] == {"start_beat": "4", "x-colour": "warm"}


@pytest.mark.parametrize(
    ("data", "found", "mend"),
    [
        ([1], "no take document", "format"),
        ({"version": 1}, '"format" is missing', "takesheet/take"),
        ({"format": "something/else", "version": 1}, "something/else", "takesheet/take"),
        ({"format": "takesheet/take"}, '"version" is missing', "version"),
        ({"format": "takesheet/take", "version": "one"}, '"version" is "one"', "version"),
        ({"format": "takesheet/take", "version": True}, '"version" is true', "version"),
        ({"format": "takesheet/take", "version": 2}, "newer takesheet: version 2", "newer"),
        ({"format": "takesheet/take", "version": 0}, "version 0 of the format, older", "again"),
        ({"format": "takesheet/take", "version": 1}, '"instrument" is missing', "open_strings_midi"),
        (take({}, instrument={}), "instrument: \"open_strings_midi\" is missing", "64, 59"),
        (take({}, instrument={"open_strings_midi": []}), "instrument.open_strings_midi is []", "64, 59"),
        (take({}, instrument={"open_strings_midi": OPEN, "capo": 22, "frets": 22}), "capo is 22", "0 to 21"),
        (take({"midi": None}), "notes[0] (n1).midi is null", "whole number from 0 to 127"),
        (take({"midi": 62.4}), "notes[0] (n1).midi is 62.4", "whole number"),
        (take({"onset_s": "soon"}), 'notes[0] (n1).onset_s is "soon"', "seconds"),
        (take({"onset_s": -1}), "notes[0] (n1).onset_s is -1", "0 or more"),
        (take({"offset_s": 0.5}), "notes[0] (n1): a note must end after it starts", ""),
        (take({}, {"attack": "thrown"}), 'notes[1] (n2).attack is "thrown"', "hammer-on"),
        (take({"value": "0.5"}), 'value is "0.5"', "1/2"),
        (take({"value": "0"}), 'value is "0"', "above 0"),
        (take({"beat": "1/0"}), 'beat is "1/0"', "fraction"),
        (take({"bends": [{"kind": "dive"}]}), 'notes[0] (n1).bends[0].kind is "dive"', "pre-bend"),
        (take({"bends": [{"start_s": 2.0, "reach_s": 1.0}]}), "notes[0] (n1).bends[0]: a bend starts, reaches", ""),
        (take({}, {"id": "n1"}), "same id", "own"),
        (take({"slide": {"kind": "legato", "to": "n7"}}), 'slide.to is "n7", which no note has', "id"),
        (take({"slide": {"kind": "in", "to": "n2"}}, {}), "notes[0] (n1).slide: ", ""),
        (take({"tie_to": "n1"}), "the note itself", "another"),
        (take({}, {"tie_to": "n1"}), 'tie_to is "n1", which does not begin later', "follows"),
        (take({"string": 7}), "string is 7, on an instrument of 6", "1 to 6"),
        (take({}, doubts=[{"note": "n4"}]), 'doubts[0].note is "n4"', "id"),
        (take({}, contour={"tracks": [{"note": "n4"}]}), 'contour.tracks[0].note is "n4"', "id"),
        (take({}, contour={"tracks": [{"note": "n1"}, {"note": "n1"}]}), "second track", "one track"),
        (take({}, rhythm={"tempo_bpm": 0}), "rhythm.tempo_bpm is 0", "above 0"),
        (take({}, rhythm={"tempo_bpm": 90, "pickup_beats": "4"}), "rhythm: a pickup is shorter", ""),
        (take({}, rhythm={"tempo_bpm": 90, "meter": "4/5"}), 'rhythm.meter is "4/5"', "4/4"),
        (take({}, key={"tonic": "G#", "mode": "major"}), "key: no such key: G# major", "signature"),
        (take({}, chords=[{"symbol": "G", "start_beat": "4", "end_beat": "4"}]), "chords[0]: a chord ends after", ""),
        (take({}, chords=[{"symbol": "G", "source": "guessed"}]), 'chords[0].source is "guessed"', "heard"),
        (take({"cents": float("nan")}), "notes[0].cents is no usable number", "finite"),
        (take({}, notes={"n1": {}}), 'notes is {"n1": {}}', "list"),
        (take({}, notes=[5]), "notes[0] is 5", "object"),
    ],
)  # fmt: skip
def test_what_is_wrong_and_how_to_mend_it(data, found, mend):
    with pytest.raises(DocumentError) as caught:
        document_from_json(data)
    assert found in caught.value.found
    assert mend in caught.value.mend
    assert caught.value.mend
    assert "\n" not in caught.value.found + caught.value.mend


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b'{"format": "takesheet/take",\n "version": 1,\n "notes": [}', "line 3, column 12: expecting value"),
        (b"", "line 1"),
        (b"\xff\xfe\x00", "UTF-8"),
        (b'{"format": NaN}', "NaN is no JSON number"),
        (b'{"format": 1e999}', "1e999 is too large"),
        (b'{"version": ' + b"9" * 5000 + b"}", "too long"),
        (b"[" * 100_000, "nested too deeply"),
        (b"this is a shopping list", "line 1, column 1"),
    ],
)
def test_a_file_that_is_no_json(tmp_path, text, says):
    path = tmp_path / "lick.take.json"
    path.write_bytes(text)
    with pytest.raises(DocumentError) as caught:
        read_document(path)
    assert says in caught.value.found
    assert str(path) in caught.value.found
    assert "\n" not in caught.value.found


def test_files_that_are_not_there(tmp_path):
    with pytest.raises(ReadError, match="no such file"):
        read_document(tmp_path / "none.take.json")
    with pytest.raises(ReadError, match="folder"):
        read_document(tmp_path)


def test_a_byte_order_mark_is_passed_over(tmp_path):
    path = tmp_path / "lick.take.json"
    path.write_text(json.dumps(take({})), encoding="utf-8-sig")
    assert len(read_document(path).notes) == 1
