"""Chord shapes, closed triads and scale positions come back from pitches alone, with the position stated.

The shapes and their order along the neck (C, A, G, E, D) and the scale boxes are common practice; every fret below was
worked out by pitch class from standard tuning, apart from the code.
"""

import pytest

from fingering import Fretboard, Limits, Passage, Pluck, solve
from fingering.shapes import CHORD_TONES, OPEN_ROOT, chord_shapes, closed_triad, scale_position, shape

NECK = Fretboard(frets=24)
ROOTS = range(12)

# frets of strings 6 to 1 for the root C
C_MAJOR = {
    "C": (None, 3, 2, 0, 1, 0),
    "A": (None, 3, 5, 5, 5, 3),
    "G": (8, 7, 5, 5, 5, 8),
    "E": (8, 10, 10, 9, 8, 8),
    "D": (None, None, 10, 12, 13, 12),
}
# closed triads of C, low to high string, as near the nut as they go: root position, first and second inversion
C_MAJOR_TRIADS = {
    (6, 5, 4): ((8, 7, 5), (12, 10, 10), (3, 3, 2)),
    (5, 4, 3): ((3, 2, 0), (7, 5, 5), (10, 10, 9)),
    (4, 3, 2): ((10, 9, 8), (2, 0, 1), (5, 5, 5)),
    (3, 2, 1): ((5, 5, 3), (9, 8, 8), (0, 1, 0)),
}
# the same above their lowest fret
MINOR_TRIADS = {
    (6, 5, 4): ((3, 1, 0), (1, 0, 0), (2, 2, 0)),
    (5, 4, 3): ((3, 1, 0), (1, 0, 0), (2, 2, 0)),
    (4, 3, 2): ((2, 0, 0), (1, 0, 1), (1, 1, 0)),
    (3, 2, 1): ((2, 1, 0), (0, 0, 0), (1, 2, 0)),
}
# (root, scale, position) -> frets per string, 6 to 1
SCALES = {
    (9, "minor pentatonic", 5): "5 8|5 7|5 7|5 7|5 8|5 8",
    (9, "minor pentatonic", 7): "8 10|7 10|7 10|7 9|8 10|8 10",
    (9, "minor pentatonic", 12): "12 15|12 15|12 14|12 14|13 15|12 15",
    (9, "minor pentatonic", 2): "3 5|3 5|2 5|2 5|3 5|3 5",
    (9, "blues", 5): "5 8|5 6 7|5 7|5 7 8|5 8|5 8",
    (0, "major", 7): "7 8 10|7 8 10|7 9 10|7 9 10|8 10|7 8 10",
    (0, "major", 5): "5 7 8|5 7 8|5 7 9|5 7|5 6 8|5 7 8",
    (0, "major", 12): "12 13 15|12 14 15|12 14 15|12 14|12 13 15|12 13 15",
    (7, "major", 2): "2 3 5|2 3 5|2 4 5|2 4 5|3 5|2 3 5",
}


def held(places, position, profile):
    """Solve the places' pitches alone, with the hand in one position."""
    midis = sorted((NECK.midi_at(string, fret) for string, fret in places), reverse=True)
    plucks = tuple(Pluck(f"c{i}", 0.0, 1.0, midi) for i, midi in enumerate(midis))
    stated = dict.fromkeys((pluck.id for pluck in plucks), Limits(positions=(position, position)))
    fingering = solve(Passage(plucks), NECK, profile=profile, limits=stated)
    assert not fingering.doubts
    return {(place.string, place.fret) for place in fingering.placements}


@pytest.mark.parametrize("letter", C_MAJOR)
def test_the_shape_of_c_stands_where_everyone_has_it(letter):
    frets = {(6 - i, fret) for i, fret in enumerate(C_MAJOR[letter]) if fret is not None}
    assert shape(letter).at(shape(letter).fret_for_root(0)) == frets


@pytest.mark.parametrize("a_shape", chord_shapes(), ids=lambda s: s.name)
def test_every_shape_sounds_its_chord(a_shape):
    tones = {(NECK.midi_at(string, fret + 1) - 1 - OPEN_ROOT[a_shape.letter]) % 12 for string, fret in a_shape.places}
    chord = set(CHORD_TONES[a_shape.quality])
    assert tones <= chord
    assert chord - tones <= {7}  # only the fifth may be left out, as in the open C seventh


@pytest.mark.parametrize("letter", C_MAJOR)
@pytest.mark.parametrize("root", ROOTS)
def test_five_shapes_in_all_roots_come_back(letter, root):
    barre = shape(letter).fret_for_root(root)
    places = shape(letter).at(barre)
    assert held(places, max(1, barre), "country double stops") == places


@pytest.mark.parametrize("strings", C_MAJOR_TRIADS)
@pytest.mark.parametrize("inversion", [0, 1, 2])
def test_closed_triads_match_the_table(strings, inversion):
    major = closed_triad(0, "major", inversion, strings)
    assert tuple(fret for _, fret in major) == C_MAJOR_TRIADS[strings][inversion]
    minor = [fret for _, fret in closed_triad(0, "minor", inversion, strings)]
    assert tuple(fret - min(minor) for fret in minor) == MINOR_TRIADS[strings][inversion]


@pytest.mark.parametrize("strings", C_MAJOR_TRIADS)
@pytest.mark.parametrize("quality", ["major", "minor", "diminished", "augmented"])
@pytest.mark.parametrize("inversion", [0, 1, 2])
def test_every_triad_inversion_comes_back_on_every_string_set(strings, quality, inversion):
    for root in ROOTS:
        places = closed_triad(root, quality, inversion, strings, NECK)
        lowest = min((fret for _, fret in places if fret > 0), default=1)
        assert held(places, lowest, "country double stops") == set(places)


@pytest.mark.parametrize("key", SCALES, ids=str)
def test_scale_positions_come_back(key):
    root, scale, position = key
    expected = [(6 - index, int(fret)) for index, frets in enumerate(SCALES[key].split("|")) for fret in frets.split()]
    inside = [place for place in scale_position(root, scale, position, NECK) if place in expected]
    assert inside == expected
    plucks = tuple(Pluck(f"n{i}", i * 0.25, (i + 1) * 0.25, NECK.midi_at(*place)) for i, place in enumerate(expected))
    stated = dict.fromkeys((pluck.id for pluck in plucks), Limits(positions=(position, position)))
    fingering = solve(Passage(plucks), NECK, limits=stated)
    assert [(place.string, place.fret) for place in fingering.placements] == expected
    assert not fingering.doubts


@pytest.mark.parametrize("a_shape", chord_shapes(), ids=lambda s: s.name)
@pytest.mark.parametrize("root", ROOTS)
def test_every_form_of_the_shapes_comes_back_spread_in_every_root(a_shape, root):
    places = sorted(a_shape.at(a_shape.fret_for_root(root)), reverse=True)  # from the lowest string up
    frets = [fret for _, fret in places]
    plucks = tuple(Pluck(f"n{i}", i * 0.25, (i + 1) * 0.25, NECK.midi_at(*place)) for i, place in enumerate(places))
    stated = dict.fromkeys((pluck.id for pluck in plucks), Limits(frets=(min(frets), max(frets))))
    fingering = solve(Passage(plucks), NECK, limits=stated)
    assert [(place.string, place.fret) for place in fingering.placements] == places
    assert not fingering.doubts
    assert fingering.cost_by_term.get("shape", 0.0) < 0.3 * len(places)


@pytest.mark.parametrize("quality", ["minor", "seventh", "minor seventh", "major seventh"])
@pytest.mark.parametrize("letter", ["E", "A", "D"])
@pytest.mark.parametrize("root", ROOTS)
def test_minor_and_seventh_barres_come_back_struck_in_every_root(letter, quality, root):
    barre = shape(letter, quality).fret_for_root(root)
    places = shape(letter, quality).at(barre)
    assert held(places, max(1, barre), "country double stops") == places


def test_the_box_of_five_frets_comes_back_with_its_frets_stated():
    # the A minor box that starts on D: 10 12 | 10 12 | 10 12 | 9 12 | 10 13 | 10 12, worked out by pitch class
    box = ((10, 12), (10, 12), (10, 12), (9, 12), (10, 13), (10, 12))
    expected = [(6 - index, fret) for index, frets in enumerate(box) for fret in frets]
    plucks = tuple(Pluck(f"n{i}", i * 0.25, (i + 1) * 0.25, NECK.midi_at(*place)) for i, place in enumerate(expected))
    stated = dict.fromkeys((pluck.id for pluck in plucks), Limits(frets=(9, 13)))
    fingering = solve(Passage(plucks), NECK, limits=stated)
    assert [(place.string, place.fret) for place in fingering.placements] == expected
    assert [str(span) for span in fingering.shapes] == ["C-shape minor pentatonic, 9th fret"]


# diatonic sixths, octaves and thirds of C on the strings named, worked out by pitch class from standard tuning:
# (string, fret) pairs, high note first
IN_A_ROW = {
    "sixths on strings 1 and 3": [((1, 5), (3, 5)), ((1, 7), (3, 7)), ((1, 8), (3, 9)), ((1, 10), (3, 10))],
    "sixths on strings 2 and 4": [((2, 5), (4, 5)), ((2, 6), (4, 7)), ((2, 8), (4, 9)), ((2, 10), (4, 10))],
    "octaves on strings 3 and 5": [((3, 5), (5, 3)), ((3, 7), (5, 5)), ((3, 9), (5, 7)), ((3, 10), (5, 8))],
    "octaves on strings 2 and 4": [((2, 5), (4, 2)), ((2, 6), (4, 3)), ((2, 8), (4, 5)), ((2, 10), (4, 7))],
    "thirds on strings 1 and 2": [((1, 5), (2, 6)), ((1, 7), (2, 8)), ((1, 8), (2, 10)), ((1, 10), (2, 12))],
    "thirds on strings 2 and 3": [((2, 5), (3, 5)), ((2, 6), (3, 7)), ((2, 8), (3, 9)), ((2, 10), (3, 10))],
}


@pytest.mark.parametrize("name", IN_A_ROW)
def test_sixths_octaves_and_thirds_come_back_on_their_strings_and_are_named(name):
    strings = frozenset(int(word) for word in name.split() if word.isdigit())
    plucks, expected = [], []
    for at, pair in enumerate(IN_A_ROW[name]):
        for place in pair:
            plucks.append(Pluck(f"n{len(plucks)}", at * 0.5, at * 0.5 + 0.45, NECK.midi_at(*place)))
            expected.append(place)
    stated = dict.fromkeys((pluck.id for pluck in plucks), Limits(strings=strings))
    fingering = solve(Passage(tuple(plucks)), NECK, profile="country double stops", limits=stated)
    assert [(place.string, place.fret) for place in fingering.placements] == expected
    assert [span.name for span in fingering.shapes] == [name]
    assert not fingering.doubts
