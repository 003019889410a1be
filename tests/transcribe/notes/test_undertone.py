"""An octave heard under a note that sounds alone is told from one that is played with it."""

from dataclasses import replace

import pytest

from tests.signals import hz, placed, plucked, recording, steady
from tests.transcribe.notes.test_weigh_voices import grounds, voice
from transcribe.notes.undertone import is_undertone, odd_partials_db

HIGH, LOW = 57, 45  # A3 rings from 0.2 s; an A2 is said to begin at 1 s
(GROUNDS,) = grounds((voice(1.0, LOW),), (0.2, HIGH, 0.5))
UNDER = replace(GROUNDS, above=1.0, rise_db=-2.0)


def sound(*parts):
    strings = [(at_s, plucked(steady(hz(midi), 1.5), level=level)) for at_s, midi, level in parts]
    return recording(placed(*strings, seconds=3.0))


def test_a_note_that_sounds_alone_shows_nothing_at_the_odd_partials_of_its_undertone():
    alone = sound((0.2, HIGH, 0.5))
    assert odd_partials_db(alone, 1.0, hz(LOW)) < -30
    assert is_undertone(alone, 1.0, hz(LOW), UNDER)


def test_an_octave_that_is_played_stays():
    both = sound((0.2, HIGH, 0.5), (1.0, LOW, 0.3))
    assert odd_partials_db(both, 1.0, hz(LOW)) > -10
    assert not is_undertone(both, 1.0, hz(LOW), UNDER)


@pytest.mark.parametrize("changed", [{"above": 0.5}, {"rise_db": 3.0}])
def test_without_a_note_above_or_with_partials_that_grow_nothing_is_said(changed):
    assert not is_undertone(sound((0.2, HIGH, 0.5)), 1.0, hz(LOW), replace(UNDER, **changed))


def test_where_the_take_ends_nothing_can_be_measured():
    assert odd_partials_db(sound((0.2, HIGH, 0.5)), 60.0, hz(LOW)) == 0.0
