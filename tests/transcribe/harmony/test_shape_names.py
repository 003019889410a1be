"""Chords told with the shape they are played in."""

from dataclasses import replace
from fractions import Fraction

import pytest

from fingering.fretboard import Fretboard
from fingering.harmonies import Harmony
from fingering.regions import regions_of
from fingering.solution import ShapeSpan
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import key_from_text
from transcribe.harmony.shape_names import named_by_key, with_shapes

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


@pytest.mark.parametrize(
    ("key", "shape", "named"),
    [
        ("A minor", ("G-shape major pentatonic", 5), "E-shape minor pentatonic, 5th fret"),
        ("A minor", ("D-shape major scale", 10), "C-shape minor scale, 9th fret"),
        ("C", ("E-shape minor pentatonic", 5), "G-shape major pentatonic, 5th fret"),
        ("G", ("G-shape major scale", 12), "G-shape major scale, 12th fret"),
        (
            "A minor",
            ("A-shape major scale", 10),
            "A-shape major scale, 10th fret",
        ),  # A dorian
        ("C# minor", ("E-shape major scale", 0), "E-shape major scale, open"),  # its root would lie behind the nut
        ("A minor", ("C-shape", 0), "C-shape, open"),
    ],
)
def test_scale_shapes_are_named_by_the_key(key, shape, named):
    (span,) = named_by_key([ShapeSpan("n0", "n3", *shape)], key_from_text(key), Fretboard())
    assert str(span) == named


def test_a_box_and_its_relative_hold_the_same_frets():
    """By the regions of the neck themselves, wherever both names exist."""
    neck = Fretboard()
    for scale in ("pentatonic", "scale"):
        for region in regions_of(Harmony(0, f"major {scale}"), neck):
            told = ShapeSpan("a", "b", region.name, region.fret)
            (named,) = named_by_key([told], key_from_text("A minor"), neck)
            if named == told:
                continue
            same = [one for one in regions_of(Harmony(9, f"minor {scale}"), neck) if one.name == named.name]
            (minor,) = [one for one in same if one.fret == named.fret]
            shared = len(minor.places & region.places) / len(minor.places | region.places)
            assert shared == 1.0 if scale == "pentatonic" else shared > 0.6
