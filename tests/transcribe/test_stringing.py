"""Hand and sound choosing the strings together."""

from fingering.fretboard import Fretboard
from fingering.search import solve
from transcribe.evidence.string_sets import Explanation
from transcribe.notes.note import Note
from transcribe.placing import passage_from_notes
from transcribe.stringing import string_and_place

BOARD = Fretboard()
# A minor pentatonic walk that lies well at the fifth fret on strings 2 to 4, and an octave of frets higher on 3 to 5.
LINE = tuple(Note(f"n{k}", 0.3 * k, 0.3 * k + 0.3, midi) for k, midi in enumerate((64, 67, 64, 62, 60, 57, 60)))
HIGH = (3, 3, 3, 4, 4, 5, 4)  # the same pitches around the ninth to twelfth fret


def saying(strings, *, worth=0.0, sure=0.95):
    """An explanation that hears each note on the string given."""
    rest = (1 - sure) / 5
    return Explanation(tuple(tuple(sure if n == string else rest for n in range(1, 7)) for string in strings), worth)


def strings(stringing):
    return [placement.string for placement in stringing.fingering.placements]


def alone():
    return solve(passage_from_notes(LINE), BOARD, profile="lead line")


def test_without_a_clue_the_fingering_stands_alone():
    told = string_and_place(LINE, (), BOARD, profile="lead line")
    assert told.fingering.placements == alone().placements
    assert told.notes == LINE
    assert told.doubts == ()


def test_a_clear_sound_moves_the_phrase_to_the_strings_heard():
    assert [placement.string for placement in alone().placements] != list(HIGH)
    told = string_and_place(LINE, [saying(HIGH)], BOARD, profile="lead line")
    assert strings(told) == list(HIGH)
    assert told.notes[0].string_weights[2] == 0.95
    assert told.doubts == ()


def test_an_explanation_no_hand_would_follow_loses_to_one_worth_a_little_less():
    leaping = saying((1, 6, 2, 5, 2, 6, 3), worth=0.5)
    told = string_and_place(LINE, [leaping, saying(HIGH)], BOARD, profile="lead line")
    assert strings(told) == list(HIGH)


def test_a_guitar_far_less_likely_is_not_taken_for_an_easier_hand():
    here = [placement.string for placement in alone().placements]
    told = string_and_place(LINE, [saying(HIGH, worth=0.0), saying(here, worth=-11.0)], BOARD, profile="lead line")
    assert strings(told) == list(HIGH)


def test_two_explanations_as_good_as_each_other_are_doubted():
    here = [placement.string for placement in alone().placements]
    even = string_and_place(LINE, [saying(HIGH), saying(here)], BOARD, profile="lead line")
    gap = even.fingering.cost - string_and_place(LINE, [saying(HIGH)], BOARD, profile="lead line").fingering.cost
    told = string_and_place(LINE, [saying(HIGH, worth=-gap), saying(here)], BOARD, profile="lead line")
    assert any("the strings are unsure: 7 of 7 notes" in doubt.why for doubt in told.doubts)
    assert all(doubt.note is None for doubt in told.doubts)


def test_a_guitar_that_cannot_win_is_not_fingered_and_changes_nothing(monkeypatch):
    calls = []

    def counted(*asked, **named):
        calls.append(asked)
        return solve(*asked, **named)

    monkeypatch.setattr("transcribe.stringing.solve", counted)
    here = tuple(placement.string for placement in alone().placements)
    easy = [saying(here), saying(HIGH, worth=-0.5)]
    hopeless = [saying(HIGH, worth=-40.0 - k) for k in range(6)]
    told = string_and_place(LINE, [*easy, *hopeless], BOARD, profile="lead line")
    assert len(calls) <= 3  # the hand alone, and the two that could
    assert told == string_and_place(LINE, easy, BOARD, profile="lead line")


def test_the_last_of_many_guitars_can_still_win():
    leaping = [saying((1, 6, 2, 5, 2, 6, 3), worth=0.5 - 0.1 * k) for k in range(4)]
    told = string_and_place(LINE, [*leaping, saying(HIGH)], BOARD, profile="lead line")
    assert strings(told) == list(HIGH)
