"""Each technique gets a place and fingers that can do it, judged by the independent checker too."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fingering import Fretboard, Passage, PassageError, Pluck, solve
from fingering.cost import PROFILES
from tests.fingering_checker import faults
from tests.fingering_music import chord, line

NECK = Fretboard()


def judged(passage, **options):
    fingering = solve(passage, **options)
    assert faults(passage, NECK, fingering) == []
    return fingering


def test_an_artificial_harmonic_is_fretted_an_octave_below_and_touched_twelve_frets_up():
    (place,) = judged(line(76, artificial=True)).placements
    assert NECK.midi_at(place.string, place.fret) == 64
    assert place.fret > 0
    assert place.touch_fret == place.fret + 12


@settings(max_examples=40, deadline=None)
@given(st.integers(50, 96))
def test_any_artificial_harmonic_is_placed_soundly_or_doubted(midi):
    passage = line(midi, artificial=True)
    fingering = judged(passage)
    assert fingering.placements or fingering.doubts


def test_a_note_is_not_both_kinds_of_harmonic():
    with pytest.raises(PassageError, match="both a natural and an artificial"):
        line(76, artificial=True, harmonic=True)


@settings(max_examples=60, deadline=None)
@given(st.integers(45, 95))
def test_a_natural_harmonic_lies_over_its_node_or_is_doubted(midi):
    judged(line(midi, harmonic=True))


def test_harmonics_at_the_twelfth_seventh_and_fifth_fret():
    # octave, octave and fifth, two octaves above the open sixth string: the overtone series
    for midi, frets in ((52, {12}), (59, {7, 19}), (64, {5})):
        (place,) = judged(line(midi, harmonic=True, locked_string=6)).placements
        assert place.fret in frets


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize(
    ("midis", "spots"),
    [
        # B5 is the third harmonic of string 1, the fourth of string 2, the fifth of string 3
        ((76, 83), [(1, 12), (1, 7)]),
        ((83, 88), [(1, 7), (1, 5)]),
        ((74, 78, 83), [(3, 7), (2, 7), (1, 7)]),
        ((67, 71, 76), [(3, 12), (2, 12), (1, 12)]),
    ],
)
def test_harmonics_are_touched_where_they_speak_loudest(profile, midis, spots):
    # at the twelfth, the seventh and the fifth fret first: common practice
    places = judged(line(*midis, harmonic=True), profile=profile).placements
    assert [(place.string, place.fret) for place in places] == spots


@pytest.mark.parametrize(("midi", "string", "softer_db"), [(52, 6, 0.0), (59, 6, 7.04), (64, 6, 12.04), (68, 6, 15.92)])
def test_a_higher_harmonic_costs_as_much_as_it_is_softer(midi, string, softer_db):
    # the nth partial of a plucked string is as 1 / n^2: Fletcher and Rossing, "The Physics of Musical Instruments", 2
    fingering = solve(line(midi, harmonic=True, locked_string=string))
    weight = PROFILES["lead line"]["node"]
    assert fingering.cost_by_term.get("node", 0.0) == pytest.approx(weight * softer_db / 10, abs=1e-2)


@pytest.mark.parametrize("profile", PROFILES)
def test_a_harmonic_rings_on_when_the_hand_has_left_it(profile):
    """The touching finger leaves at once, and the string sounds until it is stopped: common practice."""
    plucks = tuple(
        Pluck(f"n{k}", 0.3 * k, 3.0, midi, harmonic=True, let_ring=True) for k, midi in enumerate((71, 76, 83, 69))
    )
    fingering = judged(Passage(plucks), profile=profile)
    assert [(place.string, place.fret) for place in fingering.placements][:2] == [(2, 12), (1, 12)]
    assert not [doubt for doubt in fingering.doubts if doubt.id in ("n0", "n3")]
    low = (Pluck("bell", 0.0, 4.0, 52, harmonic=True, let_ring=True), Pluck("after", 0.5, 4.0, 57, locked_fret=2))
    both = judged(Passage(low), profile=profile)
    assert [(place.string, place.fret) for place in both.placements] == [(6, 12), (3, 2)]
    assert not both.doubts, "the hand goes from the twelfth fret to the second while the harmonic rings"
    assert both.cost_by_term.get("cut short", 0.0) == 0.0


@pytest.mark.parametrize(("join", "midi"), [("slide", 78), ("hammer-on", 66), ("pull-off", 64)])
def test_what_is_joined_to_a_harmonic_is_playable_or_doubted(join, midi):
    bell = Pluck("bell", 0.0, 1.0, 76, harmonic=True, locked_string=1, locked_finger=1)
    on = Pluck("on", 0.5, 1.0, midi, join=join, joined_to="bell", locked_finger=1 if join == "slide" else None)
    fingering = solve(Passage((bell, on)))
    assert bool(fingering.cost_by_term.get("fault")) == bool(fingering.doubts)


def test_only_natural_harmonics_have_nodes_to_choose():
    assert "node" not in solve(line(76)).cost_by_term


def test_a_campanella_run_keeps_every_note_on_a_string_of_its_own():
    plucks = [Pluck(f"n{i}", i * 0.3, 1.5, midi, let_ring=True) for i, midi in enumerate((64, 62, 67, 69))]
    fingering = judged(Passage(tuple(plucks)))
    assert len({place.string for place in fingering.placements}) == 4
    assert not fingering.doubts


def test_a_unison_bend_has_the_held_note_on_the_next_string_up():
    held, bent = judged(chord_of(Pluck("held", 0, 1, 76), Pluck("bent", 0, 1, 74, bend_semitones=2.0))).placements
    assert bent.string == held.string + 1
    assert bent.finger > held.finger


def chord_of(*plucks):
    return Passage(plucks)


def test_a_bend_under_a_ringing_note_leaves_it_ringing():
    plucks = (
        Pluck("rings", 0.0, 2.0, 72, let_ring=True),
        Pluck("bends", 0.5, 1.5, 67, bend_semitones=2.0),
        Pluck("after", 1.5, 2.0, 65),
    )
    fingering = judged(Passage(plucks), profile="country double stops")
    assert not fingering.doubts
    assert fingering.placement("rings").string < fingering.placement("bends").string


def test_the_next_finger_behind_a_bend_is_kept_free_when_it_can_be():
    plucks = (Pluck("held", 0.0, 2.0, 72), Pluck("bent", 0.0, 2.0, 67, bend_semitones=2.0))
    free = solve(Passage(plucks), profile="country double stops")
    bending = free.placement("bent").finger
    assert free.placement("held").finger != bending - 1
    busy = Passage((replace(plucks[0], locked_finger=bending - 1), plucks[1]))
    assert solve(busy, profile="country double stops").cost > free.cost


def test_a_finger_that_holds_a_ringing_note_is_no_support():
    held = Pluck("held", 0.0, 2.0, 70, locked_string=1, locked_fret=6, locked_finger=2)
    bent = Pluck("bent", 0.5, 1.5, 62, bend_semitones=2.0, locked_string=3, locked_fret=7, locked_finger=3)
    ringing = solve(Passage((held, bent)))
    gone = solve(Passage((replace(held, end_s=0.5), bent)))
    assert ringing.cost_by_term["bend"] > gone.cost_by_term["bend"]


def test_a_dragged_string_is_never_left_to_ring_in_silence():
    # the string above a bend of string 3 goes along: a note that must ring there is given up and said so
    plucks = (
        Pluck("rings", 0.0, 2.0, 55, let_ring=True, locked_string=4),
        Pluck("bends", 0.5, 1.5, 62, bend_semitones=2.0, locked_string=3),
    )
    fingering = solve(Passage(plucks))
    assert "rings" in {doubt.id for doubt in fingering.doubts}


def test_a_bass_note_that_rings_leaves_the_bend_alone():
    fingering = judged(chord_of(Pluck("bent", 0, 1, 69, bend_semitones=2.0), Pluck("bass", 0, 1, 45)))
    assert not fingering.doubts
    assert judged(chord(69, 45)).placements
