"""The shape term: what stays in one shape of its chord or scale is cheaper, by pitches alone and exactly."""

from dataclasses import replace

import pytest

from fingering import Fretboard, Passage, Pluck, solve
from fingering.cost import PROFILES
from fingering.harmonies import Harmony, links_of, row_kind, triad_of
from fingering.moments import moments_of
from fingering.regions import regions_of, standard_strings
from fingering.shapes import octave_out_of_shape
from tests.fingering_music import line
from tests.lead_licks import lick


def pinned(midis, places):
    plucks = line(*midis).plucks
    return Passage(tuple(replace(p, locked_string=s, locked_fret=f) for p, (s, f) in zip(plucks, places, strict=True)))


def test_an_arpeggio_in_one_shape_costs_nothing_and_one_that_leaves_it_does():
    midis = (50, 57, 62, 66)  # D major
    inside = solve(pinned(midis, [(5, 5), (4, 7), (3, 7), (2, 7)])).cost_by_term
    outside = solve(pinned(midis, [(5, 5), (4, 7), (3, 7), (3, 11)])).cost_by_term
    assert "shape" not in inside
    assert outside["shape"] == pytest.approx(PROFILES["lead line"]["shape"])


def test_a_less_usual_shape_costs_a_quarter_a_step():
    places = [(5, 9), (4, 9), (3, 7), (2, 10)]  # G-shape of D... every step in the one shape
    midis = [Fretboard().midi_at(*place) for place in places]
    cost = solve(pinned(midis, places)).cost_by_term.get("shape", 0.0)
    assert 0 < cost < PROFILES["lead line"]["shape"] * len(midis)


def test_sixths_in_a_row_are_cheaper_on_the_same_strings():
    passage, places, profile = lick("sixths walking down")
    assert "shape" not in solve(passage, profile=profile).cost_by_term
    moved = {place.id: place.string for place in places}
    over = Passage(
        tuple(replace(p, locked_string=moved[p.id] + (1 if 2 <= at < 4 else 0)) for at, p in enumerate(passage.plucks))
    )
    assert solve(over, profile=profile).cost_by_term["shape"] > 0


def test_octaves_are_held_over_one_string_left_out():
    over_one = [((5, 5), (3, 7)), ((4, 5), (2, 8)), ((6, 0), (4, 2)), ((3, 12), (1, 15))]
    stretched = [((6, 10), (3, 7)), ((5, 10), (2, 8)), ((2, 13), (1, 20))]
    neck = Fretboard()
    assert [octave_out_of_shape(pair, neck) for pair in over_one] == [0, 0, 0, 0]
    assert [octave_out_of_shape(pair, neck) for pair in stretched] == [1, 1, 1]
    assert octave_out_of_shape([(6, 3), (2, 3)], neck) == 0  # a fifth and an octave: no shape is asked of it


def test_a_line_in_octaves_keeps_its_shape():
    # D E F E E D, up to G and A and back: one shape slides along its two strings, the index on the lower note
    low = (50, 52, 53, 52, 52, 50, 55, 57, 50)
    onsets_s = (0.0, 0.33, 0.65, 1.3, 1.63, 1.96, 2.61, 3.26, 3.91)
    plucks = [
        Pluck(f"n{at}{midi - bass}", onset_s, onset_s + 0.3, midi)
        for at, (bass, onset_s) in enumerate(zip(low, onsets_s, strict=True))
        for midi in (bass + 12, bass)
    ]
    fingering = solve(Passage(tuple(plucks)))
    strings = [place.string for place in fingering.placements]
    pairs = list(zip(strings[::2], strings[1::2], strict=True))
    assert pairs[:-1] == [(3, 5)] * (len(low) - 1)
    assert pairs[-1] in ((3, 5), (4, 6))  # the low D lies under the hand there, too
    assert fingering.shapes[0].name == "octaves on strings 3 and 5"


def test_pitches_alone_name_the_chord_or_scale():
    assert links_of([[60], [64], [67]])[1].harmonies == (Harmony(0, "major"),)
    box = links_of([[midi] for midi in (57, 60, 62, 64, 67, 69)])
    assert box[1].harmonies[-1] == Harmony(9, "minor pentatonic")
    assert links_of([[60], [61], [66]])[1].harmonies == ()
    assert links_of([]) == ()


def test_double_stops_and_triads_are_told_by_their_intervals():
    assert row_kind([64, 67]) == row_kind([64, 68]) == "thirds"
    assert row_kind([64, 72]) == row_kind([64, 73]) == "sixths"
    assert row_kind([52, 64]) == "octaves"
    assert row_kind([64, 71]) == row_kind([40, 64]) == ""
    assert row_kind([52, 55, 60]) == "triads"
    assert triad_of([52, 55, 60]) == (0, "major", 1)
    assert triad_of([52, 55, 61]) is None or triad_of([52, 55, 61])[1] == "diminished"


@pytest.mark.parametrize("kind", ["major", "minor", "seventh", "minor pentatonic", "major pentatonic", "major scale"])
@pytest.mark.parametrize("root", range(12))
def test_every_region_sounds_its_harmony_and_moves_with_its_root(root, kind):
    neck = Fretboard(frets=24)
    at_c, here = regions_of(Harmony(0, kind), neck), regions_of(Harmony(root, kind), neck)
    assert {region.letter for region in here} == set("CAGED")
    for region in here:
        base = [other for other in at_c if (other.letter, (other.fret + root - region.fret) % 12) == (region.letter, 0)]
        assert base
        tones = {(neck.midi_at(string, fret) - root) % 12 for string, fret in region.places}
        base_tones = {neck.midi_at(string, fret) % 12 for string, fret in base[-1].places}
        assert tones <= base_tones or base_tones <= tones


def test_only_strings_in_standard_steps_have_shapes():
    assert standard_strings(Fretboard(open_midi=(64, 59, 55, 50, 45, 38))) == (frozenset({1, 2, 3, 4, 5}), 0)
    assert standard_strings(Fretboard(open_midi=(62, 57, 53, 48, 43, 38), capo=1)) == (frozenset(range(1, 7)), -1)
    assert regions_of(Harmony(0, "major"), Fretboard(open_midi=(67, 62, 55, 48))) == ()


def test_a_dead_note_breaks_no_run():
    notes = list(line(57, 60, 61, 62, 64, 67, 69).plucks)
    links = [moment.link.harmonies for moment in moments_of(Passage(tuple(notes)))]
    assert Harmony(9, "minor pentatonic") not in links[1]
    notes[2] = replace(notes[2], dead=True)
    links = [moment.link.harmonies for moment in moments_of(Passage(tuple(notes)))]
    assert all(Harmony(9, "minor pentatonic") in found for found in links[1:])
