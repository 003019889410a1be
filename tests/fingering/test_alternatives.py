from dataclasses import replace

import pytest

from fingering import Fretboard, Passage, alternatives, solve
from tests.fingering_checker import faults
from tests.fingering_music import line
from tests.lead_licks import LICKS, lick


def strings(fingering):
    return [place.string for place in fingering.placements]


@pytest.mark.parametrize("name", LICKS)
def test_alternatives_are_playable_cheapest_first_and_really_different(name):
    passage, _, profile = lick(name)
    found = alternatives(passage, profile=profile, count=3)
    assert len(found) >= 2
    assert len({one.where for one in found}) == len(found)
    assert all(one.sound for one in found[1:])
    assert found[0].extra_cost == 0
    assert found[0].fingering.cost == pytest.approx(solve(passage, profile=profile).cost, rel=1e-5)
    assert [one.extra_cost for one in found] == sorted(one.extra_cost for one in found)
    for at, one in enumerate(found):
        assert faults(passage, Fretboard(), one.fingering) == []
        for other in found[:at]:
            moved = sum(a != b for a, b in zip(strings(one.fingering), strings(other.fingering), strict=True))
            assert moved >= 0.3 * len(passage.plucks)


def test_an_alternative_says_where_it_lies_and_how_it_sounds():
    passage, _, _ = lick("box one, bend and answer")
    first, second, *_ = alternatives(passage)
    assert first.where == "E-shape minor pentatonic at the 5th fret"
    assert first.sound == ""
    assert second.where == "the same pitches on the next string set down, C-shape minor pentatonic at the 9th fret"
    assert second.sound.startswith("darker: 3 more notes on wound strings")


def test_a_low_open_note_has_no_other_place():
    assert len(alternatives(line(40, 41, 42))) == 1
    assert alternatives(line()) == ()


def test_more_notes_on_wound_strings_are_called_darker():
    found = alternatives(line(57, 60, 62, 64, 67), count=4)
    wound = [sum(string >= 4 for string in strings(one.fingering)) for one in found]
    for one, count in zip(found[1:], wound[1:], strict=True):
        assert ("darker" in one.sound) == (count > wound[0])
    assert max(wound) > wound[0]


def test_the_first_heeds_the_sound_and_the_others_the_hand_alone():
    """A line that sounds a string lower: that is the first way, and the easiest for the hand comes next."""
    plain = line(57, 60, 62, 64, 67)
    easy = solve(plain)
    wanted = {place.id: min(6, place.string + 1) for place in easy.placements}
    told = Passage(
        tuple(
            replace(pluck, string_weights=tuple(0.95 if string == wanted[pluck.id] else 0.01 for string in range(1, 7)))
            for pluck in plain.plucks
        )
    )
    first, second, *_ = alternatives(told)
    assert {place.id: place.string for place in first.fingering.placements} == wanted
    assert strings(second.fingering) == strings(easy)
    assert "sound" not in second.fingering.cost_by_term
    assert second.extra_cost < 0
