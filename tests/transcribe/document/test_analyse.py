"""A document told anew: chords over a vamp, locks, an edited paragraph, and what transposing leaves as it is."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.strategies_documents import documents
from transcribe.document.analyse import analyse
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.document.read import document_from_json
from transcribe.document.text import take_to_json
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key, key_from_text
from transcribe.notes.note import Bend, Note
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing

QUARTER_S = 0.5
RHYTHM = Rhythm(60 / QUARTER_S, Meter(4, 4), 0.0)
G = key_from_text("G")


def document(*moments, **more):
    """One moment a quarter, each a pitch or pitches struck together."""
    notes = []
    for place, pitches in enumerate(moments):
        for pitch in pitches if isinstance(pitches, tuple) else (pitches,):
            note = Note(f"n{len(notes) + 1}", place * QUARTER_S, (place + 1) * QUARTER_S, pitch, attack="picked")
            timing = Timing(place // 4 + 1, Fraction(place % 4), Fraction(1))
            notes.append(TakeNote(note, timing=timing))
    return TakeDocument(tuple(notes), rhythm=RHYTHM, **more)


# B-D to C-E and back over a G vamp: I, IV over I, I
PLAGAL = ((59, 62), (59, 62), (60, 64), (60, 64), (59, 62), (59, 62))


def test_another_chord_over_a_vamp_is_told_with_both_places_in_the_key():
    told = analyse(document(*PLAGAL, key=G, vamp="G"))
    over = [chord for chord in told.chords if chord.backing]
    assert [(chord.symbol, chord.backing, chord.role) for chord in over] == [("C", "G", "IV over I")]
    assert (over[0].start_beat, over[0].end_beat) == (2, 4)
    assert told.chords[-1].cadence == "plagal"
    assert "C over G (IV over I)" in told.about


def test_a_vamp_is_home_when_no_key_is_given():
    assert analyse(document(*PLAGAL, vamp="G7")).key == Key("G", "major", source="estimated")
    assert analyse(document(*PLAGAL, vamp="Em")).key.mode == "minor"


def test_degrees_tell_the_sounding_target_of_a_bend():
    bent = document(69, 71)
    note = replace(bent.notes[0].note, bends=(Bend("bend", 0.1, 0.2, 0.5, 200.0, 196.0),))
    told = analyse(replace(bent, key=G, notes=(replace(bent.notes[0], note=note), *bent.notes[1:])))
    assert [take.degree for take in told.notes] == ["3", "3"]


def test_locked_fields_are_kept():
    plain = document(*PLAGAL, key=G, vamp="G")
    fixed = replace(plain.notes[0], degree="my degree", tone="my word", locked=("degree", "tone"))
    told = analyse(replace(plain, notes=(fixed, *plain.notes[1:])))
    assert (told.notes[0].degree, told.notes[0].tone) == ("my degree", "my word")
    assert told.notes[0].chord_degree == "3"


def test_a_chord_fixed_by_a_person_stays_and_nothing_is_told_over_it():
    mine = ChordSpan(Fraction(0), Fraction(8), "Em7", role="my role", locked=("symbol",))
    assert analyse(document(*PLAGAL, key=G, chords=(mine,))).chords == (mine,)


def test_a_given_key_is_never_replaced():
    assert analyse(document(60, 64, 67, 72, key=key_from_text("F# minor"))).key == key_from_text("F# minor")


def test_an_edited_paragraph_is_kept_and_an_unedited_one_follows_the_notes():
    first = analyse(document(*PLAGAL, key=G, vamp="G"))
    moved = replace(first, key=key_from_text("E minor"), vamp=None, chords=())
    assert analyse(moved).about != first.about
    edited = replace(moved, about=first.about + " Play it slowly.")
    assert analyse(edited).about == first.about + " Play it slowly."
    assert analyse(replace(moved, locked=("about",))).about == first.about


def test_telling_it_twice_changes_nothing():
    once = analyse(document(*PLAGAL, key=G, vamp="G"))
    assert analyse(once) == once


def test_a_key_that_is_not_sure_names_the_next_one_as_a_doubt_and_once():
    unsure = analyse(document(60, 67, 62, 69))
    why = f"the key could also be {unsure.key.runner_up}"
    assert [doubt.why for doubt in unsure.doubts] == [why]
    assert analyse(unsure).doubts == unsure.doubts
    assert analyse(replace(unsure, key=G)).doubts == ()


def test_an_estimate_follows_the_notes_unless_a_person_fixed_it():
    wrong = Key("F#", "minor", 0.9, "estimated")
    scale = document(60, 62, 64, 65, 67, 69, 71, 72, key=wrong)
    assert analyse(scale).key.tonic == "C"
    assert analyse(replace(scale, locked=("key",))).key == wrong


lines = st.lists(st.integers(52, 76), min_size=4, max_size=12)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(lines, st.integers(-5, 6))
def test_transposing_leaves_degrees_tones_and_roles(pitches, semitones):
    here = analyse(document(*pitches, key=Key("C", "major")))
    names = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
    there = analyse(document(*(pitch + semitones for pitch in pitches), key=Key(names[semitones % 12], "major")))
    assert [(take.degree, take.chord_degree, take.tone) for take in here.notes] == [
        (take.degree, take.chord_degree, take.tone) for take in there.notes
    ]
    assert [(span.role, span.start_beat, span.cadence) for span in here.chords] == [
        (span.role, span.start_beat, span.cadence) for span in there.chords
    ]


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(lines, st.integers(1, 11))
def test_the_estimated_key_moves_with_the_notes(pitches, semitones):
    """With a capo as far up the neck: without one, keys of open chords are a little likelier."""
    here = analyse(document(*pitches)).key
    moved = document(*(pitch + semitones for pitch in pitches))
    there = analyse(replace(moved, instrument=Instrument(capo=semitones))).key
    assert there.mode == here.mode or here.confidence == pytest.approx(there.confidence, abs=1e-6)
    assert here.confidence == pytest.approx(there.confidence, abs=1e-6)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(documents())
def test_any_document_can_be_told_and_written(anything):
    told = analyse(anything)
    assert [take.note for take in told.notes] == [take.note for take in anything.notes]
    assert document_from_json(take_to_json(told)).chords == told.chords
    if anything.key is not None and anything.key.source == "given":
        assert told.key == anything.key
