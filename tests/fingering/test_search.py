"""The search: optimal by enumeration, legal by an independent checker, and what must hold for any music."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from fingering import Fretboard, Passage, PassageError, Pluck, k_cheapest, solve
from fingering.cost import PROFILES, TERMS
from fingering.moments import moments_of
from fingering.paths import search
from tests.fingering_by_hand import every_cost
from tests.fingering_checker import faults
from tests.fingering_music import chord, line, passages, spots

SMALL = Fretboard(open_midi=(64, 59, 55), frets=4)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(passages(low=55, high=68, most=3), st.sampled_from(sorted(PROFILES)))
def test_the_cheapest_ways_are_those_found_by_trying_all(passage, name):
    profile = PROFILES[name]
    expected = every_cost(passage, SMALL, profile)
    assume(expected is not None)
    moments = moments_of(passage)
    for k in (1, 5):
        found = [way.cost for way in search(moments, passage.plucks, SMALL, profile, k=k).ways]
        assert len(found) == min(k, len(expected))
        assert found == pytest.approx(expected[:k], rel=1e-5)


@settings(max_examples=150, deadline=None)
@given(passages(), st.sampled_from(sorted(PROFILES)), st.sampled_from([0, 2]))
def test_every_fingering_is_legal_or_says_why_not(passage, name, capo):
    neck = Fretboard(capo=capo)
    assert faults(passage, neck, solve(passage, neck, profile=name)) == []


@settings(max_examples=60, deadline=None)
@given(passages(), st.sampled_from(sorted(PROFILES)))
def test_the_cost_is_the_sum_of_its_terms_and_of_its_moments(passage, name):
    fingering = solve(passage, profile=name)
    assert fingering.cost == pytest.approx(sum(fingering.cost_by_term.values()))
    assert fingering.cost == pytest.approx(sum(sum(terms.values()) for terms in fingering.cost_by_note.values()))
    assert set(fingering.cost_by_term) <= set(TERMS)


@settings(max_examples=60, deadline=None)
@given(passages(), st.data())
def test_a_lock_is_honoured_and_never_lowers_the_cost(passage, data):
    free = solve(passage)
    other = data.draw(st.sampled_from(k_cheapest(passage, k=4)))
    if not other.placements:
        return
    pinned = data.draw(st.sampled_from(other.placements))
    locked = Passage(
        tuple(
            replace(p, locked_string=pinned.string, locked_fret=pinned.fret, locked_finger=pinned.finger)
            if p.id == pinned.id
            else p
            for p in passage.plucks
        )
    )
    held = solve(locked)
    got = held.placement(pinned.id)
    assert (got.string, got.fret, got.finger) == (pinned.string, pinned.fret, pinned.finger)
    assert held.cost >= free.cost - 1e-3


@settings(max_examples=100, deadline=None)
@given(passages(), st.data())
def test_a_lock_to_any_place_of_the_pitch_is_honoured_or_named_and_never_lowers_the_cost(passage, data):
    pluck = data.draw(st.sampled_from([p for p in passage.plucks if Fretboard().places(p.midi)]))
    place = data.draw(st.sampled_from(Fretboard().places(pluck.midi)))
    finger = data.draw(st.sampled_from([None, 1, 2, 3, 4])) if place.fret else None
    change = {"locked_string": place.string, "locked_fret": place.fret, "locked_finger": finger}
    locked = Passage(tuple(replace(p, **change) if p is pluck else p for p in passage.plucks))
    held = solve(locked)
    got = held.placement(pluck.id)
    assert (got.string, got.fret) == (place.string, place.fret)
    assert finger in (None, got.finger)
    assert held.cost >= solve(passage).cost - 1e-3


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(-4, 4), min_size=2, max_size=8))
def test_a_line_up_one_fret_is_played_one_fret_higher_away_from_the_nut(steps):
    midis = [64]
    for step in steps:
        midis.append(min(68, max(60, midis[-1] + step)))
    neck = Fretboard(frets=24)
    flat = PROFILES["lead line"].with_weights(low_neck=0.0, high_neck=0.0, stretch=0.0, spread=0.0, travel=0.0)
    low = solve(line(*midis), neck, profile=flat)
    up = solve(line(*(midi + 1 for midi in midis)), neck, profile=flat)
    moved = Passage(
        tuple(
            replace(pluck, locked_string=place.string, locked_fret=place.fret + 1, locked_finger=place.finger)
            for pluck, place in zip(line(*(midi + 1 for midi in midis)).plucks, low.placements, strict=True)
            if place.fret > 0
        )
    )
    if all(place.fret > 0 for place in low.placements):
        assert solve(moved, neck, profile=flat).cost == pytest.approx(low.cost, abs=1e-4)
        assert up.cost <= low.cost + 1e-4


def test_the_minor_pentatonic_lies_in_one_position():
    assert spots(solve(line(57, 60, 62, 64, 67, 69, 72, 69, 67, 64))) == [
        (4, 7), (3, 5), (3, 7), (2, 5), (2, 8), (1, 5), (1, 8), (1, 5), (2, 8), (2, 5),
    ]  # fmt: skip


def test_a_slide_keeps_string_and_finger():
    plucks = (Pluck("a", 0, 0.5, 64), Pluck("b", 0.5, 1.0, 71, join="slide", joined_to="a"))
    first, second = solve(Passage(plucks)).placements
    assert (first.string, first.finger) == (second.string, second.finger)
    assert second.fret - first.fret == 7


def test_a_slide_carries_the_hand_so_no_shift_is_paid():
    plucks = (Pluck("a", 0, 0.5, 64), Pluck("b", 0.5, 1.0, 71, join="slide", joined_to="a"))
    fingering = solve(Passage(plucks))
    assert fingering.positions["b"] - fingering.positions["a"] == 7
    assert not {"shift", "travel"} & set(fingering.cost_by_term)


def test_hammer_on_and_pull_off_keep_the_string_and_change_finger_even_from_an_open_string():
    plucks = (
        Pluck("a", 0, 0.3, 40),
        Pluck("b", 0.3, 0.6, 43, join="hammer-on", joined_to="a"),
        Pluck("c", 0.6, 0.9, 40, join="pull-off", joined_to="b"),
    )
    fingering = solve(Passage(plucks))
    assert [(p.string, p.fret) for p in fingering.placements] == [(6, 0), (6, 3), (6, 0)]
    assert not fingering.doubts


def test_a_whole_tone_bend_gets_a_place_and_finger_that_can_make_it():
    (place,) = solve(line(67, bend_semitones=2.0)).placements
    assert place.string in (1, 2, 3)
    assert place.fret >= 5
    assert place.finger == 3


def test_an_oblique_bend_keeps_the_ringing_string_free():
    plucks = (Pluck("held", 0.0, 2.0, 72), Pluck("bent", 0.0, 2.0, 67, bend_semitones=2.0))
    held, bent = solve(Passage(plucks), profile="country double stops").placements
    assert held.string < bent.string <= 3
    assert not solve(Passage(plucks)).doubts


def test_what_rings_on_is_not_fretted_over():
    plucks = (Pluck("a", 0.0, 2.0, 60, let_ring=True), Pluck("b", 0.5, 2.0, 62), Pluck("c", 1.0, 2.0, 67))
    assert len({place.string for place in solve(Passage(plucks)).placements}) == 3


def test_nothing_is_bent_or_shaken_on_an_open_string():
    assert all(place.fret > 0 for place in solve(line(64, 59, 64, vibrato=True)).placements)
    assert solve(line(40, vibrato=True)).doubts[0].id == "n0"


def test_a_pitch_off_the_neck_is_left_out_with_a_doubt():
    fingering = solve(line(30, 69, 110))
    assert [place.id for place in fingering.placements] == ["n1"]
    assert {doubt.id for doubt in fingering.doubts} == {"n0", "n2"}


def test_a_seven_note_chord_comes_back_with_six_at_most_and_a_doubt():
    fingering = solve(chord(72, 67, 64, 60, 55, 48, 40))
    assert 1 <= len(fingering.placements) <= 6
    assert fingering.doubts


def test_an_open_e_chord_is_held_as_everyone_holds_it():
    placed = solve(chord(64, 59, 56, 52, 47, 40), profile="classical").placements
    assert [(p.string, p.fret, p.finger) for p in placed] == [
        (1, 0, 0), (2, 0, 0), (3, 1, 1), (4, 2, 3), (5, 2, 2), (6, 0, 0),
    ]  # fmt: skip


def test_the_sound_of_a_string_can_decide():
    plain = line(64)
    heard = line(64, string_weights=(0.01, 0.02, 0.94, 0.02, 0.005, 0.005))
    assert solve(heard).placements[0].string == 3
    assert solve(plain).placements[0].string != 3


def test_an_empty_passage_is_an_empty_fingering():
    assert solve(Passage(())).placements == ()


def test_a_longer_passage_shares_the_work_of_equal_moments_and_keeps_states_few():
    moments = moments_of(line(*[60, 62, 64, 65] * 10))
    layers = search(moments, line(*[60, 62, 64, 65] * 10).plucks, Fretboard(), PROFILES["lead line"]).layers
    assert max(len(layer.position) for layer in layers) < 120


@settings(max_examples=40, deadline=None)
@given(passages(), st.sampled_from(sorted(PROFILES)))
def test_without_a_clue_from_the_sound_its_term_changes_nothing(passage, name):
    deaf = PROFILES[name].with_weights(sound=0.0)
    with_term, without = solve(passage, profile=name), solve(passage, profile=deaf)
    assert with_term.placements == without.placements
    assert with_term.cost_by_term == without.cost_by_term
    even = Passage(tuple(replace(pluck, string_weights=(1 / 6,) * 6) for pluck in passage.plucks))
    assert solve(even, profile=name).placements == with_term.placements


def test_weights_for_other_strings_than_the_neck_has_are_refused():
    with pytest.raises(PassageError, match="weights for 6 strings of a guitar with 7"):
        solve(line(64, string_weights=(1 / 6,) * 6), Fretboard(open_midi=(64, 59, 55, 50, 45, 40, 35)))
    with pytest.raises(PassageError, match="must be 0 or more"):
        line(64, string_weights=(0.0,) * 6)


# enough neck for shapes, few enough places to walk every way
MIDDLE = Fretboard(open_midi=(64, 59, 55), frets=10)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(
    st.sampled_from([(0, 4, 7), (0, 3, 7), (4, 7, 12), (7, 4, 0)]),
    st.integers(61, 66),
    st.sampled_from(sorted(PROFILES)),
)
def test_the_cheapest_ways_are_exact_where_shapes_count(steps, low, name):
    weighted = PROFILES[name].with_weights(shape=1.0)
    passage = line(*(low + step for step in steps))
    moments = moments_of(passage)
    assert moments[1].link.harmonies
    every = every_cost(passage, MIDDLE, weighted, most_ways=60000)
    assume(every is not None)
    for k in (1, 5):
        found = [way.cost for way in search(moments, passage.plucks, MIDDLE, weighted, k=k).ways]
        assert found == pytest.approx(every[:k], rel=1e-5)
