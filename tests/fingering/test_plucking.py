from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from fingering import FingeringError, Passage, Pluck, solve
from fingering.plucking import PICKING, strokes_for
from tests.fingering_music import chord, line
from tests.lead_licks import lick


def strokes(passage, strings, picking):
    return list(strokes_for(passage, [(string, 5, 1) for string in strings], picking))


def test_alternate_strokes_turn_with_every_picked_note():
    assert strokes(line(60, 62, 64), [3, 3, 2], "alternate pick") == ["down", "up", "down"]


@pytest.mark.parametrize(("seconds", "second"), [(0.2, "up"), (0.5, "down")])
def test_double_stops_turn_the_pick_only_where_time_is_short(seconds, second):
    pair = [Pluck(f"n{at}{midi}", at * seconds, at * seconds + 0.2, midi) for at in range(3) for midi in (72, 67)]
    played = strokes(Passage(tuple(pair)), [1, 2] * 3, "alternate pick")
    assert played == ["down", "down", second, second, "down", "down"]


def test_joined_notes_and_notes_left_out_need_no_stroke():
    plucks = (
        Pluck("a", 0, 0.2, 60),
        Pluck("b", 0.2, 0.4, 62, join="hammer-on", joined_to="a"),
        Pluck("c", 0.4, 0.6, 64),
    )
    assert strokes(Passage(plucks), [3, 3, 2], "alternate pick") == ["down", None, "up"]
    assert strokes(line(60, 62), [3, 0], "alternate pick") == ["down", None]


def test_a_rest_starts_with_a_down_stroke_again():
    plucks = (Pluck("a", 0, 0.2, 60), Pluck("b", 3.0, 3.2, 60))
    assert strokes(Passage(plucks), [3, 3], "alternate pick") == ["down", "down"]


def written(text):
    """Plucks a tenth of a second apart at places in beats."""
    places = [Fraction(place) for place in text.split()]
    return Passage(
        tuple(
            replace(pluck, beats=place) for pluck, place in zip(line(*[60] * len(places)).plucks, places, strict=True)
        )
    )


@pytest.mark.parametrize(
    ("places", "expected"),
    [
        ("0 1 2 3", "DDDD"),  # quarters
        ("1/2 1 3/2 5/2", "UDUU"),  # eighths between beats go up, wherever the line begins
        ("0 1/4 1/2 3/4 1", "DUDUD"),
        ("0 1/2 3/4 1 3/2", "DDUDU"),  # the hand swings twice as fast only in the beat that needs it
        ("-1/2 0 1/2", "UDU"),  # a pickup
        ("0 1/3 2/3 1 4/3 5/3 2", "DUDUDUD"),  # triplets in turn
    ],
)
def test_alternate_strokes_go_with_the_beat_where_it_is_known(places, expected):
    played = strokes(written(places), [3] * len(places.split()), "alternate pick")
    assert "".join(stroke[0].upper() for stroke in played) == expected


def test_the_beat_leaves_other_ways_of_picking_alone():
    assert strokes(written("1/2 1 2"), [3, 3, 3], "economy pick") == ["down", "up", "down"]


def test_economy_keeps_the_direction_onto_the_next_string():
    assert strokes(line(60, 62, 64, 67), [3, 2, 1, 2], "economy pick") == ["down", "down", "down", "up"]
    assert strokes(line(60, 62, 64), [3, 3, 2], "economy pick") == ["down", "up", "down"]


def test_pick_and_fingers_pinch_a_double_stop():
    assert strokes(chord(72, 67), [1, 3], "pick and fingers") == ["m", "down"]
    assert strokes(chord(76, 72, 67), [1, 2, 3], "pick and fingers") == ["a", "m", "down"]


def test_a_roll_of_pick_and_finger_keeps_the_pick_going_down():
    rolled = strokes(line(60, 72, 60, 72, 60), [3, 1, 3, 1, 3], "pick and fingers")
    assert rolled == ["down", "m", "down", "m", "down"]


def test_the_pick_moves_over_where_the_line_stays_on_the_higher_string():
    leapt = strokes(line(60, 72, 74, 76, 60), [3, 1, 1, 1, 2], "pick and fingers")
    assert leapt == ["down", "m", "down", "up", "down"]


def test_fingers_take_thumb_and_one_finger_a_string():
    assert strokes(chord(76, 72, 67, 48), [1, 2, 3, 5], "fingers") == ["a", "m", "i", "p"]


def test_no_treble_finger_plays_twice_running():
    played = strokes(line(64, 65, 67, 69, 71), [1, 1, 1, 1, 1], "fingers")
    assert all(one != other for one, other in pairwise(played))


@pytest.mark.parametrize("picking", PICKING)
def test_every_way_of_picking_gives_every_struck_note_a_stroke(picking):
    fingering = solve(line(60, 64, 67, 72, 55, 48, 76), picking=picking)
    allowed = {"p", "i", "m", "a"} if picking == "fingers" else {"down", "up", "m", "a"}
    assert {place.stroke for place in fingering.placements} <= allowed


def test_an_unknown_way_of_picking_names_the_known_ones():
    with pytest.raises(FingeringError, match="no way of picking") as caught:
        solve(line(60), picking="thumbs")
    assert "economy pick" in caught.value.mend


def test_what_rings_on_gets_a_finger_a_string():
    passage, _, profile = lick("ringing triads")
    assert [place.stroke for place in solve(passage, profile=profile, picking="fingers").placements] == list("imaima")


def test_a_line_that_does_not_ring_keeps_i_and_m_in_turn():
    assert strokes(line(64, 60, 57), [1, 2, 3], "fingers") == ["i", "m", "i"]
