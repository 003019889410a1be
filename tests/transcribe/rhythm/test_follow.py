import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.rhythm_music import played
from tests.strategies import single_lines
from transcribe.rhythm.follow import Guess, follow
from transcribe.rhythm.onsets import moments
from transcribe.settings import RhythmSettings

SETTINGS = RhythmSettings()


def places(notes, bpm, *, pulse=Fraction(1), steady=True, **told):
    guess = Guess(60 / bpm, pulse, **told)
    (followed,) = follow(moments(notes, SETTINGS), [guess], SETTINGS, steady=steady, beam=SETTINGS.beam)
    return followed.places()


@pytest.mark.parametrize(
    "written",
    [
        "1 1/2 1/2 1/4 1/4 1/4 1/4 1",
        "1/3 1/3 1/3 1/2 1/2 1/3 1/3 1/3 1",
        "3/4 1/4 3/4 1/4 1/2 1/4 1/4 1",
        "2 r1 1/2 1/2 4 1",
    ],
)
@pytest.mark.parametrize("bpm", [60, 96, 132])
def test_a_line_played_by_the_clock_is_read_as_it_was_written(written, bpm):
    line = played(written, bpm)
    assert places(line.notes, bpm, downbeat_s=1.0) == line.places


def test_the_beat_is_followed_when_it_drifts():
    """The tempo swings by 4 % over every eight bars; at the widest it is half a beat away from a steady clock."""

    def clock(quarters):
        return (quarters + 0.04 * 32 / (2 * math.pi) * math.sin(2 * math.pi * quarters / 32)) * 0.6

    line = played("1/2 1/2 1 1/2 1/2 1/2 1/2 " * 12, 100, clock=clock)
    assert places(line.notes, 100, downbeat_s=1.0, steady=False) == line.places


def test_a_single_wild_note_does_not_move_the_beat():
    line = played("1 1 1 1 1 1 1 1", 100)
    late = line.notes[3]
    notes = [
        *line.notes[:3],
        type(late)(late.id, late.onset_s + 0.13, late.offset_s + 0.13, late.midi),
        *line.notes[4:],
    ]
    found = places(notes, 100, downbeat_s=1.0)
    assert found[:3] + found[4:] == line.places[:3] + line.places[4:]


def test_nothing_is_written_before_the_earliest_place():
    line = played("1/2 1/2 1", 100)
    assert places(line.notes, 100, downbeat_s=2.5, earliest=Fraction(-1))[0] >= -1


def test_a_given_start_is_kept():
    line = played("1/2 1 1 1 1", 100)
    assert places(line.notes, 100, start=12)[0] == Fraction(1, 2)


@given(single_lines(most=16), st.floats(50, 200), st.sampled_from([Fraction(1), Fraction(3, 2), Fraction(1, 2)]))
def test_places_always_increase(notes, bpm, pulse):
    found = places(notes, bpm, pulse=pulse, downbeat_s=notes[0].onset_s)
    assert all(before < after for before, after in pairwise(found))


def test_guesses_followed_side_by_side_do_not_disturb_each_other():
    line = played("1 1/2 1/2 1/3 1/3 1/3 1 3/4 1/4 1", 96, jitter_s=0.01)
    heard = moments(line.notes, SETTINGS)
    guesses = [Guess(60 / bpm, pulse) for bpm in (48, 96, 144) for pulse in (Fraction(1), Fraction(3, 2))]
    together = follow(heard, guesses, SETTINGS, steady=False, beam=8)
    alone = [follow(heard, [guess], SETTINGS, steady=False, beam=8)[0] for guess in guesses]
    assert [each.ticks for each in together] == [each.ticks for each in alone]
    assert [round(each.cost, 6) for each in together] == [round(each.cost, 6) for each in alone]


def test_the_right_tempo_costs_least():
    line = played("1 1/2 1/2 1/4 1/4 1/2 1 3/4 1/4 1", 96, jitter_s=0.01)
    guesses = [Guess(60 / bpm, Fraction(1)) for bpm in (60, 72, 96, 125)]
    costs = [each.cost for each in follow(moments(line.notes, SETTINGS), guesses, SETTINGS, steady=True, beam=8)]
    assert costs.index(min(costs)) == 2
