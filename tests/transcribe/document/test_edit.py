"""Corrections: fixing and freeing fields, and putting another fingering in, as a person would expect it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fingering import Fretboard, solve
from fingering.passage import Placement
from fingering.solution import Caution, Fingering, ShapeSpan
from fingering.solution import Doubt as FingeringDoubt
from tests.strategies_documents import documents
from transcribe.document.edit import fretboard_of, lock, locked_place, note_of, tie_heads, unlock, with_fingering
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.document.read import document_from_json
from transcribe.document.text import take_to_json
from transcribe.errors import SettingsError
from transcribe.harmony.chord_span import ChordSpan
from transcribe.notes.note import Doubt, Note
from transcribe.placing import passage_from_takes
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing

A_MINOR = (57, 60, 64, 69)  # A3 C4 E4 A4


def lick(*midis: int, placed: bool = True) -> TakeDocument:
    """A line of quarters at 60, each on the second string where it lies there."""
    takes = []
    for index, midi in enumerate(midis):
        name = f"n{index + 1}"
        place = Placement(name, 2, midi - 59, 1, "down") if placed and midi >= 59 else None
        timing = Timing(1 + index // 4, Fraction(index % 4), Fraction(1))
        takes.append(TakeNote(Note(name, float(index), index + 1.0, midi), place, timing))
    return TakeDocument(tuple(takes), rhythm=Rhythm(60.0, Meter(4, 4), 0.0, tempo_source="given"))


def fingering(*places: Placement, positions: int = 5, **more: object) -> Fingering:
    return Fingering(
        placements=places,
        positions={place.id: positions for place in places},
        cost=0.0,
        cost_by_term={},
        cost_by_note={},
        by_id={place.id: place for place in places},
        **more,  # type: ignore[arg-type]
    )


def test_a_lock_fixes_what_it_names_and_moves_the_note_there() -> None:
    take = note_of(lock(lick(64), "n1", string=3, fret=9, finger=4), "n1")
    assert (take.placement.string, take.placement.fret, take.placement.finger) == (3, 9, 4)
    assert set(take.locked) == {"string", "fret", "finger"}


def test_a_string_alone_tells_the_fret() -> None:
    take = note_of(lock(lick(64), "n1", string=4), "n1")
    assert (take.placement.string, take.placement.fret, take.locked) == (4, 14, ("string",))


def test_a_finger_alone_leaves_the_place_open() -> None:
    """E4 lies on five strings: which one is the next fingering's to say, and the finger is kept for it."""
    document = lock(lick(64, placed=False), "n1", finger=2)
    assert locked_place(note_of(document, "n1")) == {"string": None, "fret": None, "finger": 2}
    solved = with_fingering(document, solve(passage_from_takes(document.notes), fretboard_of(document)))
    assert note_of(solved, "n1").placement.finger == 2


def test_a_finger_alone_survives_the_file() -> None:
    document = lock(lick(64, placed=False), "n1", finger=2)
    again = document_from_json(take_to_json(document))
    assert locked_place(note_of(again, "n1"))["finger"] == 2


@pytest.mark.parametrize(
    ("told", "found", "mend"),
    [
        ({"string": 2, "fret": 10}, "note n1 does not lie on string 2 fret 10", "string 2 fret 5"),
        ({"string": 6, "fret": 3}, "does not lie on string 6 fret 3", "string 1 fret 0"),
        ({"finger": 7}, "there is no finger 7", "1 to 4"),
    ],
)
def test_a_place_without_that_pitch_is_refused_with_those_that_have_it(told, found, mend) -> None:
    with pytest.raises(SettingsError, match=found) as refused:
        lock(lick(64), "n1", **told)
    assert mend in refused.value.mend


def test_an_older_lock_that_stands_in_the_way_is_named() -> None:
    fixed = lock(lick(64), "n1", string=3, fret=9)
    with pytest.raises(
        SettingsError, match="n1 is fixed to fret 9 already, where it does not lie on string 4"
    ) as caught:
        lock(fixed, "n1", string=4)
    assert "--unlock n1" in caught.value.mend
    with pytest.raises(SettingsError, match="n1 is fixed to string 3 already, where it does not lie on fret 14"):
        lock(fixed, "n1", fret=14)
    with pytest.raises(SettingsError, match="n1 does not lie on string 4 fret 3"):  # the old lock is not the cause
        lock(fixed, "n1", string=4, fret=3)
    assert note_of(lock(fixed, "n1", string=4, fret=14), "n1").placement.fret == 14


def test_an_artificial_harmonic_is_fixed_where_it_is_fretted_and_survives_the_file() -> None:
    plain = lick(76, placed=False)
    squeal = replace(plain.notes[0], note=replace(plain.notes[0].note, harmonic="artificial"))
    document = lock(replace(plain, notes=(squeal,)), "n1", string=3, fret=9)
    found = solve(passage_from_takes(document.notes), fretboard_of(document))
    read = document_from_json(take_to_json(with_fingering(document, found)))
    assert read.notes[0].note.harmonic == "artificial"
    assert (read.notes[0].placement.string, read.notes[0].placement.fret) == (3, 9)
    with pytest.raises(SettingsError, match="does not lie on string 3 fret 21"):
        lock(replace(plain, notes=(squeal,)), "n1", string=3, fret=21)


def test_a_note_that_is_not_there_is_refused_with_the_names_of_those_that_are() -> None:
    with pytest.raises(SettingsError, match="there is no note n9") as refused:
        lock(lick(64, 65), "n9", string=1)
    assert refused.value.mend == "The notes are n1, n2."


def test_unlocking_frees_fields_and_leaves_their_values() -> None:
    document = unlock(lock(lick(64), "n1", string=3, fret=9), "n1")
    take = note_of(document, "n1")
    assert take.locked == ()
    assert (take.placement.string, take.placement.fret) == (3, 9)


def test_a_new_fingering_never_moves_what_is_fixed() -> None:
    document = lock(lick(64, 65), "n1", string=3, fret=9, finger=4)
    changed = with_fingering(document, fingering(Placement("n1", 1, 0, 0, "up"), Placement("n2", 1, 1, 1, "up")))
    first, second = (take.placement for take in changed.notes)
    assert (first.string, first.fret, first.finger, first.stroke) == (3, 9, 4, "up")
    assert (second.string, second.fret, second.finger) == (1, 1, 1)


def test_a_fixed_stroke_stays() -> None:
    document = lick(64)
    document = replace(document, notes=(replace(document.notes[0], locked=("pluck",)),))
    changed = with_fingering(document, fingering(Placement("n1", 1, 0, 0, "up")))
    assert changed.notes[0].placement.stroke == "down"


def test_doubts_of_the_old_fingering_make_way_and_others_stay() -> None:
    heard, reach, care = (
        Doubt("an octave lower?", "n1"),
        Doubt("cannot be reached", "n2", about="fingering"),
        Doubt("take care: a stretch", "n1", about="fingering"),
    )
    document = replace(lick(64, 65), doubts=(Doubt("noisy"), heard, reach, care))
    new = fingering(
        Placement("n1", 1, 0, 0),
        Placement("n2", 1, 1, 1),
        doubts=(FingeringDoubt("n2", "the bend is wide"),),
        cautions=(Caution("n1", "a stretch of 110 mm", "Warm up."),),
    )
    told = [(doubt.note, doubt.why, doubt.about) for doubt in with_fingering(document, new).doubts]
    assert told == [
        (None, "noisy", None),
        ("n1", "an octave lower?", None),
        ("n1", "take care: a stretch of 110 mm. Warm up.", "fingering"),
        ("n2", "the bend is wide", "fingering"),
    ]


def test_notes_that_were_not_asked_about_keep_place_doubts_and_shapes() -> None:
    document = replace(
        lick(64, 65, 67, 69),
        doubts=(Doubt("old", "n4", about="fingering"),),
        shapes=(ShapeSpan("n3", "n4", "A-shape", 5),),
    )
    new = fingering(Placement("n1", 1, 0, 0), Placement("n2", 1, 1, 1), shapes=(ShapeSpan("n1", "n2", "E-shape", 0),))
    changed = with_fingering(document, new)
    assert changed.notes[2:] == document.notes[2:]
    assert [doubt.why for doubt in changed.doubts] == ["old"]
    assert [str(span) for span in changed.shapes] == ["E-shape, open", "A-shape, 5th fret"]


def test_a_note_nobody_could_place_loses_its_place() -> None:
    new = Fingering((), {"n1": 1}, 0.0, {}, {}, doubts=(FingeringDoubt("n1", "the pitch is not on this neck"),))
    changed = with_fingering(lick(64), new)
    assert changed.notes[0].placement is None
    assert changed.doubts[0].note == "n1"


def test_chords_get_the_shape_most_of_their_notes_lie_in_unless_it_is_fixed() -> None:
    chords = (
        ChordSpan(Fraction(0), Fraction(4), "Am"),
        ChordSpan(Fraction(4), Fraction(8), "Dm", shape="C", fret=5, locked=("shape",)),
    )
    document = replace(lick(*A_MINOR, *A_MINOR), chords=chords)
    places = [Placement(take.id, 2, take.note.midi - 59, 1) for take in document.notes if take.note.midi >= 59]
    new = fingering(*places, shapes=(ShapeSpan("n2", "n4", "E-shape minor", 5), ShapeSpan("n6", "n8", "E-shape", 10)))
    first, second = with_fingering(document, new).chords
    assert (first.shape, first.fret) == ("E", 5)
    assert (second.shape, second.fret) == ("C", 5)


def test_sixths_and_scales_are_no_shape_of_a_chord() -> None:
    document = replace(lick(*A_MINOR), chords=(ChordSpan(Fraction(0), Fraction(4), "Am", shape="A", fret=0),))
    places = [Placement(take.id, 2, take.note.midi - 59, 1) for take in document.notes if take.note.midi >= 59]
    changed = with_fingering(
        document, fingering(*places, shapes=(ShapeSpan("n2", "n4", "sixths on strings 1 and 3", 5),))
    )
    assert changed.chords[0].shape is None


def test_tied_notes_lie_where_the_struck_one_does() -> None:
    document = lick(64, 64, 65)
    first, second, third = document.notes
    document = replace(document, notes=(replace(first, tie_to="n2"), second, third))
    assert tie_heads(document.notes) == {"n1": "n1", "n2": "n1", "n3": "n3"}
    passage = passage_from_takes(document.notes)
    assert [(pluck.id, pluck.end_s) for pluck in passage.plucks] == [("n1", 2.0), ("n3", 3.0)]
    changed = with_fingering(document, solve(passage, Fretboard()))
    here, there = changed.notes[0].placement, changed.notes[1].placement
    assert (here.string, here.fret, here.finger) == (there.string, there.fret, there.finger)
    assert there.id == "n2"


@given(documents(), st.data())
def test_whatever_is_fixed_survives_any_new_fingering_and_the_file(document: TakeDocument, data: st.DataObject) -> None:
    document = replace(document, instrument=Instrument())
    places = [
        Placement(take.id, data.draw(st.integers(1, 6)), data.draw(st.integers(0, 20)), 1) for take in document.notes
    ]
    changed = document_from_json(take_to_json(with_fingering(document, fingering(*places))))
    for before, after in zip(document.notes, changed.notes, strict=True):
        assert after.locked == before.locked
        if before.placement is None:
            continue
        for name in before.locked:
            fixed = getattr(before.placement, name)
            assert fixed is None or getattr(after.placement, name) == fixed
