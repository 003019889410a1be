import math
from fractions import Fraction

import pytest

from transcribe.rhythm.grid import ON_BEAT, division_cost, empty_cost, places, pulse_beats, start_places
from transcribe.rhythm.rhythm import Meter


@pytest.mark.parametrize(
    ("meter", "pulse"),
    [
        (Meter(4, 4), Fraction(1)),
        (Meter(2, 2), Fraction(1)),
        (Meter(6, 8), Fraction(3, 2)),
        (Meter(12, 8), Fraction(3, 2)),
        (Meter(7, 8), Fraction(1, 2)),
    ],
)
def test_the_felt_beat(meter, pulse):
    assert pulse_beats(meter) == pulse


def test_a_quarter_has_halves_quarters_eighths_and_thirds():
    ticks = {place.ticks for place in places(24)}
    assert ticks == {0, 3, 6, 9, 12, 15, 18, 21} | {4, 8, 12, 16, 20}


def test_the_beat_is_the_commonest_place_and_a_32nd_the_rarest():
    cost = {(place.ticks, place.division): place.cost for place in places(24)}
    assert cost[0, None] < cost[12, "halves"] < cost[3, "quarters"]
    assert cost[3, "quarters"] == max(cost.values())
    assert cost[16, "thirds"] < cost[8, "thirds"]  # long-short before short-long


def test_a_dotted_beat_has_no_triplets_and_three_equal_parts():
    assert {place.division for place in places(36)} == {None, "halves", "quarters"}
    halves = [place for place in places(36) if place.division == "halves"]
    assert [place.ticks for place in halves] == [12, 24]
    assert halves[0].cost == halves[1].cost


@pytest.mark.parametrize("before", ["halves", "quarters", "thirds"])
def test_a_division_lasts_and_the_shares_of_what_follows_add_up(before):
    shares = [math.exp(-division_cost(before, now)) for now in ("halves", "quarters", "thirds")]
    assert abs(sum(shares) - 1) < 1e-9
    assert division_cost(before, before) == min(division_cost(before, now) for now in ("halves", "quarters", "thirds"))


def test_an_empty_beat_costs_the_beat_and_its_half():
    one = empty_cost(0, "halves", 24, "halves", 24)
    two = empty_cost(0, "halves", 48, "halves", 24)
    assert abs(two - 2 * one + math.log(1 - ON_BEAT)) < 1e-9


def test_lines_may_begin_on_every_sixteenth_and_third():
    assert start_places(Fraction(1)) == (0, 6, 8, 12, 16, 18)
