import pytest

from fingering import Fretboard, agreement, solve
from fingering.agreement import NOTHING
from fixtures.licks import LICKS as FERRY
from tests.ferry_licks import ferry_lick
from tests.fingering_checker import faults
from tests.lead_licks import LICKS, lick


@pytest.mark.parametrize("name", LICKS)
def test_no_lick_has_a_fault(name):
    passage, _, profile = lick(name)
    fingering = solve(passage, profile=profile)
    assert not fingering.doubts
    assert faults(passage, Fretboard(), fingering) == []


def test_nine_notes_in_ten_lie_on_the_string_we_would_play():
    total = NOTHING
    for name in LICKS:
        passage, places, profile = lick(name)
        total += agreement(solve(passage, profile=profile), {place.id: place for place in places})
    assert total.shares[0] >= 0.9
    assert total.string_of > 100


@pytest.mark.parametrize("name", [name for name in LICKS if "oblique" in name or "unison" in name])
def test_the_bent_string_and_the_held_one_fit_together(name):
    passage, places, profile = lick(name)
    placed = solve(passage, profile=profile).by_id
    assert all(placed[place.id].string == place.string for place in places if place.id in placed)


def test_wide_bends_get_the_ring_finger():
    passage, _, profile = lick("box one, bend and answer")
    placed = solve(passage, profile=profile).by_id
    assert {placed[pluck.id].finger for pluck in passage.plucks if pluck.bend_semitones == 2} == {3}


@pytest.mark.parametrize("name", FERRY)
def test_no_shipped_lick_has_a_fault(name):
    passage, _, neck = ferry_lick(name)
    fingering = solve(passage, neck)
    assert not fingering.doubts
    assert faults(passage, neck, fingering) == []


def test_nine_notes_in_ten_of_the_shipped_licks_lie_where_they_were_written():
    total = NOTHING
    for name in FERRY:
        passage, places, neck = ferry_lick(name)
        total += agreement(solve(passage, neck), {place.id: place for place in places})
    assert total.string_of > 200
    strings, positions, _ = total.shares
    assert strings >= 0.9
    assert positions >= 0.85


def test_a_lick_in_one_shape_stays_there_rather_than_moving_halfway():
    passage, _, neck = ferry_lick("ferry-bell")
    hands = solve(passage, neck).positions.values()
    assert max(hands) - min(hands) <= 2
