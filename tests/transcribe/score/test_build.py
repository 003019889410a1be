from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from fingering.passage import Placement
from tests.rhythm_music import played
from tests.strategies import single_lines
from tests.strategies_documents import documents
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.document.read import read_document
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing
from transcribe.score.build import build_score

REFERENCES = sorted((Path(__file__).parents[3] / "fixtures" / "reference").glob("*.take.json"))
SLOW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def bare(written, bpm=100, **more):
    """A document with pitches and times alone."""
    return TakeDocument(notes=tuple(TakeNote(note) for note in played(written, bpm, **more).notes))


def timed(*places, rhythm=None):
    """A document whose notes are already placed: (bar, beat, value)."""
    line = played("1 " * len(places), 60)
    notes = tuple(
        TakeNote(note, timing=Timing(bar, Fraction(beat), Fraction(value)))
        for note, (bar, beat, value) in zip(line.notes, places, strict=True)
    )
    return TakeDocument(notes=notes, rhythm=rhythm or Rhythm(60.0, Meter(4, 4), 1.0))


def events(score):
    return [event for bar in score.bars for event in bar.voices[0]]


def lengths(score):
    return [str(event.value.quarters) for event in events(score)]


def test_pitches_and_times_alone_are_enough():
    score = build_score(bare("1 1/2 1/2 1 1 2 1 1"), title="Lick")
    assert score.title == "Lick"
    assert abs(score.tempo_bpm - 100) < 1
    assert not score.tempo_is_given
    assert len(score.bars) == 2
    assert lengths(score) == ["1", "1/2", "1/2", "1", "1", "2", "1", "1"]


def test_written_places_of_the_document_are_kept():
    score = build_score(timed((1, "0", "1"), (1, "5/2", "1/2"), (2, "0", "4")))
    assert [(event.beat, event.is_rest) for event in score.bars[0].voices[0]] == [
        (0, False),
        (1, True),
        (2, True),
        (Fraction(5, 2), False),
        (3, True),
    ]


def test_a_note_over_the_bar_line_is_tied_and_starts_once():
    score = build_score(timed((1, "0", "3"), (1, "3", "2"), (2, "1", "3")))
    heads = [event.notes[0] for event in events(score)]
    assert [(head.take.id, head.tied_from, head.tied_to) for head in heads] == [
        ("n1", False, False),
        ("n2", False, True),
        ("n2", True, False),
        ("n3", False, True),
        ("n3", True, False),
    ]


def test_a_pickup_bar_is_short_and_bar_one_full():
    rhythm = Rhythm(120.0, Meter(4, 4), 2.0, pickup_beats=Fraction(1, 2))
    score = build_score(timed((0, "0", "1/2"), (1, "0", "4"), rhythm=rhythm))
    assert [(bar.number, bar.length) for bar in score.bars] == [(0, Fraction(1, 2)), (1, 4)]


def test_notes_that_start_together_are_one_event_highest_first():
    score = build_score(timed((1, "0", "2"), (1, "0", "2"), (1, "2", "2")))
    first, second = events(score)
    assert [head.take.note.midi for head in first.notes] == [60, 57]
    assert len(second.notes) == 1


def test_overlapping_notes_are_cut_at_the_next():
    assert lengths(build_score(timed((1, "0", "4"), (1, "1", "1"), (1, "2", "2")))) == ["1", "1", "2"]


def test_a_held_note_written_as_two_is_one_sound():
    document = timed((1, "0", "4"), (2, "0", "2"), (2, "2", "2"))
    first, *others = document.notes
    score = build_score(replace(document, notes=(replace(first, tie_to="n2"), *others)))
    assert [head.take.id for event in events(score) for head in event.notes] == ["n1", "n1", "n3"]


def test_places_of_another_program_move_to_ones_that_can_be_written():
    score = build_score(timed((1, "1/5", "1/5"), (1, "2/5", "3/5"), (1, "1", "3")))
    starts = [event.beat for event in events(score) if event.notes and not event.notes[0].tied_from]
    assert starts == [Fraction(1, 4), Fraction(3, 8), 1]  # 1/5 and 2/5 of a beat


def test_a_triplet_is_complete_and_marked_at_both_ends():
    score = build_score(timed((1, "0", "1/3"), (1, "2/3", "1/3"), (1, "1", "3")))
    tuplet = [event for event in events(score) if event.value.tuplet]
    assert [event.is_rest for event in tuplet] == [False, True, False]
    assert [(event.tuplet_starts, event.tuplet_stops) for event in tuplet] == [
        (True, False),
        (False, False),
        (False, True),
    ]


def test_key_signature_and_names_come_from_the_key():
    document = replace(bare("1 1 1 1", midis=(61, 66, 68, 69)), key=Key("A", "major"))
    score = build_score(document)
    assert score.fifths == 3
    assert [event.notes[0].spelled.step for event in events(score) if event.notes] == ["C", "F", "G", "A"]


def test_placements_and_doubts_come_along():
    document = bare("1 1 1 1")
    first, *others = document.notes
    placed = replace(first, placement=Placement("n1", 3, 2, 1))
    score = build_score(replace(document, notes=(placed, *others), doubts=(Doubt("unsure", "n2"),)))
    assert events(score)[0].notes[0].take.placement.fret == 2
    assert events(score)[1].notes[0].take.placement is None
    assert score.doubts == (Doubt("unsure", "n2"),)


def test_no_notes_give_one_empty_bar():
    score = build_score(TakeDocument(notes=()))
    assert [event.is_rest for event in events(score)] == [True]


@pytest.mark.parametrize("path", REFERENCES, ids=lambda path: path.stem)
def test_fixture_licks_are_written_with_no_more_signs_than_notes(path):
    """These licks were composed as plain values: nothing needs a tie, and only one has a rest."""
    document = read_document(path)
    score = build_score(document)
    written = [
        (head.take.id, event.value.quarters)
        for bar in score.bars
        for voice in bar.voices
        for event in voice
        for head in event.notes
    ]
    assert sorted(written) == sorted((item.id, item.timing.value) for item in document.notes)


@SLOW
@given(documents(most=10))
def test_any_document_becomes_bars_that_are_full_and_loses_no_note(document):
    score = build_score(document)  # a bar that is not full cannot be made
    heads = [head.take.id for bar in score.bars for voice in bar.voices for event in voice for head in event.notes]
    tied_into = {item.tie_to for item in document.notes}
    assert {item.id for item in document.notes if item.id not in tied_into} <= set(heads)
    for bar in score.bars:
        for event in bar.voices[0]:
            assert event.beat + event.value.quarters <= bar.length


@SLOW
@given(single_lines(most=10))
def test_every_head_that_is_tied_to_is_continued_by_the_next(notes):
    score = build_score(TakeDocument(notes=tuple(TakeNote(note) for note in notes)))
    line = events(score)
    for event, following in zip(line, [*line[1:], None], strict=True):
        for head in event.notes:
            continued = following is not None and any(
                other.take.id == head.take.id and other.tied_from for other in following.notes
            )
            assert head.tied_to == continued
