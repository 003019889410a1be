"""Grips against a plain enumeration judged by the independent checker."""

from itertools import product

import pytest

from fingering import Fretboard, Placement
from fingering.grips import NOT_ON_NECK, TOO_MANY, grips_for
from fingering.needs import Need
from tests.fingering_checker import _hold

NECK = Fretboard(frets=9)


def by_hand(midis, neck):
    """Every way to hold the notes, by trying all strings and fingers; straight order at equal frets."""
    ways = set()
    for places in product(*(neck.places(midi) for midi in midis)):
        for fingers in product(range(5), repeat=len(midis)):
            held = [Placement("", p.string, p.fret, f) for p, f in zip(places, fingers, strict=True)]
            if any((p.fret == 0) != (p.finger == 0) for p in held) or _hold(held, neck):
                continue
            crossed = any(
                a.fret == b.fret > 0 and a.finger < b.finger and a.string < b.string for a in held for b in held
            )
            if not crossed:
                ways.add(tuple((p.string, p.fret, p.finger) for p in held))
    return ways


@pytest.mark.parametrize(
    "midis",
    [(67,), (64,), (67, 60), (64, 60, 55), (65, 60, 57, 53), (64, 59, 56, 52, 47), (67, 64, 60, 55), (67, 61, 58)],
)
@pytest.mark.parametrize("capo", [0, 3])
def test_every_legal_grip_is_found_and_no_other(midis, capo):
    neck = Fretboard(frets=9 + capo, capo=capo)
    found = {grip.spots for grip in grips_for(tuple(Need(midi) for midi in midis), neck) if not any(grip.faults)}
    assert found == by_hand(midis, neck)


def test_the_full_barre_of_f_is_among_the_grips():
    spots = {grip.spots for grip in grips_for(tuple(Need(m) for m in (65, 60, 57, 53, 48, 41)), NECK)}
    assert ((1, 1, 1), (2, 1, 1), (3, 2, 2), (4, 3, 4), (5, 3, 3), (6, 1, 1)) in spots


def test_a_pitch_off_the_neck_is_left_out_and_the_rest_played():
    grips = grips_for((Need(67), Need(20)), NECK)
    assert all(grip.spots[1] == (0, 0, 0) and grip.faults == ("", NOT_ON_NECK) for grip in grips)


def test_of_seven_notes_an_inner_one_is_left_out_first():
    grips = grips_for(tuple(Need(m) for m in (64, 60, 57, 55, 52, 48, 40)), NECK)
    assert all(grip.spots[0][0] and grip.spots[-1][0] for grip in grips)
    assert all(TOO_MANY in grip.faults and grip.missing == 1 for grip in grips)


def test_an_oblique_bend_never_drags_the_held_string():
    # a bend on string 1 pushes over string 2, so the held note cannot lie there
    for grip in grips_for((Need(74, bend_semitones=2.0), Need(67)), Fretboard()):
        assert not (grip.spots[0][0] == 1 and grip.spots[1][0] in (2, 3))
