"""Chords told with the shape they are played in."""

from dataclasses import replace
from fractions import Fraction

from fingering.solution import ShapeSpan
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.shape_names import with_shapes

C = ChordSpan(Fraction(0), Fraction(4), "C", source="heard")
STARTS = {f"n{place}": Fraction(place) for place in range(4)}


def test_a_chord_played_in_a_shape_tells_it_and_its_fret():
    (told,) = with_shapes((C,), (ShapeSpan("n0", "n3", "A-shape", 3),), STARTS)
    assert (told.shape, told.fret) == ("A", 3)


def test_half_of_the_notes_are_not_enough():
    assert with_shapes((C,), (ShapeSpan("n0", "n1", "A-shape", 3),), STARTS) == (C,)


def test_a_scale_box_is_no_shape_of_a_chord():
    assert with_shapes((C,), (ShapeSpan("n0", "n3", "E-shape minor pentatonic", 5),), STARTS) == (C,)


def test_a_fixed_chord_keeps_what_it_has():
    fixed = replace(C, shape="E", fret=8, locked=("shape",))
    assert with_shapes((fixed,), (ShapeSpan("n0", "n3", "A-shape", 3),), STARTS) == (fixed,)
