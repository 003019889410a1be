"""Places in the words of players: the same for the terminal, the tab and the sheet."""

from fractions import Fraction

import pytest

from tests.golden.licks import bends
from transcribe.rhythm.rhythm import Meter
from transcribe.score.build import build_score
from transcribe.score.places import bars_words, beat_words, place_at, places_of


@pytest.mark.parametrize(
    ("meter", "beat", "words"),
    [
        (Meter(4, 4), "0", "1"),
        (Meter(4, 4), "5/2", "3½"),
        (Meter(4, 4), "1/3", "1⅓"),
        (Meter(6, 8), "3/2", "2"),
        (Meter(6, 8), "1/2", "1⅓"),
        (Meter(4, 4), "1/8", "1 and 1/8"),
    ],
)
def test_beats_are_counted_from_one(meter, beat, words):
    assert beat_words(Fraction(beat), meter) == words


@pytest.mark.parametrize(
    ("meter", "pickup", "beat", "words"),
    [("4/4", "1/2", "0", "4½"), ("4/4", "1/2", "1/4", "4¾"), ("3/4", "2", "0", "2"), ("6/8", "1/2", "0", "2⅔")],
)
def test_a_pickup_counts_the_beats_it_leads_in_from(meter, pickup, beat, words):
    parts, unit = meter.split("/")
    told = place_at(0, Fraction(beat), Meter(int(parts), int(unit)), Fraction(pickup))
    assert told.words == f"pickup, beat {words}"


def test_the_places_of_a_score_are_those_of_its_notes():
    places = places_of(build_score(bends()))
    assert [places[note].words for note in ("n1", "n2", "n3")] == ["pickup, beat 4", "pickup, beat 4½", "bar 1, beat 1"]


def test_bars_are_told_once_and_runs_as_runs():
    assert bars_words([3, 1, 3]) == "bars 1 and 3"
    assert bars_words([2]) == "bar 2"
    assert bars_words([0, 2]) == "pickup, bar 2"
    assert bars_words([9, 4, 5, 6, 1]) == "bars 1, 4 to 6 and 9"
