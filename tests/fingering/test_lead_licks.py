import pytest

from fingering import Fretboard, agreement, solve
from fingering.agreement import NOTHING
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
