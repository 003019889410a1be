"""A held note between those of a new chord is written in the chord, not on a stem of its own through it."""

from dataclasses import replace
from fractions import Fraction

from tests.score_music import take, take_note
from transcribe.score.build import build_score
from transcribe.score.score import Event, ScoreNote, Spelled, WrittenValue
from transcribe.write.engraver.crossing import uncrossed
from transcribe.write.engraver.plan import plan_bars


def event(*midis, value="eighth", beat=0, tied=False):
    heads = []
    for midi in sorted(midis, reverse=True):
        note = take_note("0 3 0 1")
        note = replace(note, note=replace(note.note, id=f"m{midi}", midi=midi))
        heads.append(ScoreNote(note, Spelled("C", 0, 4), tied_from=tied))
    return Event(Fraction(beat), WrittenValue(value), tuple(heads))


def midis(voice):
    return [[head.take.note.midi for head in one.notes] for one in voice]


def test_a_held_note_above_the_chords_lowest_joins_the_chord():
    voices = uncrossed((event(63, 59, 42),), (event(49, tied=True),))
    assert [midis(voice) for voice in voices] == [[[63, 59, 49, 42]]]
    assert [head.tied_from for head in voices[0][0].notes] == [False, False, True, False]


def test_the_rest_of_the_lower_voice_stays():
    later = event(45, beat=1)
    upper, lower = uncrossed((event(63, 42), event(60, beat=1)), (event(49), later))
    assert midis(upper) == [[63, 49, 42], [60]]
    assert lower[0].hidden
    assert lower[1] is later


def test_voices_that_do_not_cross_or_are_not_as_long_stay_apart():
    for upper, lower in (
        ((event(63, 59),), (event(49),)),
        ((event(63, 42),), (event(49, value="quarter"),)),
        ((event(63, 49),), (event(49),)),
    ):
        assert uncrossed(upper, lower) == (upper, lower)


def test_a_chord_over_a_held_note_is_drawn_on_one_stem():
    """The open fourth string is held into bar 2, where a chord from the sixth string up begins with it."""
    document = take("0 1 3 3", "2 4 0 3", "3 1 3 1", "4 6 2 1", "4 2 4 1", "5 1 3 3")
    first = plan_bars(build_score(document))[1].slots[0]
    assert len(first.cells) == 1
    assert [head.note.tied_from for head in first.cells[0].heads] == [False, True, False]
