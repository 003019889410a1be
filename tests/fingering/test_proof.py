"""The search says when it could not try every way."""

import random

from fingering import Fretboard, Passage, Pluck, alternatives, solve
from fingering.cost import LEAD_LINE
from fingering.moments import moments_of
from fingering.paths import search
from fingering.search import NOT_PROVED
from tests.fingering_music import line
from tests.lead_licks import LICKS, lick


def ringing(notes: int) -> Passage:
    """A wash: every note rings through the twenty that follow."""
    chance = random.Random(2)
    return Passage(tuple(Pluck(f"n{i}", i * 0.1, i * 0.1 + 2.0, chance.randint(45, 76)) for i in range(notes)))


def test_where_too_much_rings_it_says_so_once_and_where():
    fingering = solve(ringing(30))
    assert not fingering.proved_cheapest
    told = [doubt for doubt in fingering.doubts if doubt.why == NOT_PROVED]
    assert len(told) == 1
    assert fingering.placement(told[0].id) is not None


def test_lines_and_all_our_licks_are_proved():
    assert solve(line(57, 60, 62, 64)).proved_cheapest
    assert all(solve(lick(name)[0], profile=lick(name)[2]).proved_cheapest for name in LICKS)


def test_alternatives_say_it_too():
    assert not any(one.fingering.proved_cheapest for one in alternatives(ringing(30)))


def test_ways_dropped_for_certain_leave_the_proof_standing(monkeypatch):
    passage, _, profile = lick("thirds on two strings")
    whole = solve(passage, profile=profile)
    monkeypatch.setattr("fingering.paths.MOST_STATES", 12)
    monkeypatch.setattr("fingering.paths.FEWEST_HELD", 2)
    fewer = solve(passage, profile=profile)
    assert not fewer.proved_cheapest
    assert fewer.cost >= whole.cost - 1e-6
    moments = moments_of(line(60, 62, 64))

    assert search(moments, line(60, 62, 64).plucks, Fretboard(), LEAD_LINE).unproved == ()
