from fingering import Fretboard, Placement, solve, tuning_from_text
from fingering.shape_spans import shape_spans
from fingering.shapes import chord_outside_shapes
from tests.fingering_music import line
from tests.lead_licks import lick


def placed(*places):
    return [Placement(f"n{i}", string, fret, None) for i, (string, fret) in enumerate(places)]


def test_a_spread_chord_is_named_with_its_fret():
    (span,) = shape_spans(placed((5, 5), (4, 7), (3, 7), (2, 7)), Fretboard())
    assert str(span) == "A-shape, 5th fret"
    assert (span.first_id, span.last_id) == ("n0", "n3")


def test_open_chords_are_named_open():
    (span,) = shape_spans(placed((5, 3), (4, 2), (3, 0), (2, 1)), Fretboard())
    assert str(span) == "C-shape, open"


def test_a_box_is_named_after_the_shape_inside_it():
    fingering = solve(line(57, 60, 62, 64, 67, 69, 72))
    assert [str(span) for span in fingering.shapes] == ["E-shape minor pentatonic, 5th fret"]


def test_two_shapes_in_a_row():
    spans = shape_spans(placed((4, 2), (3, 1), (2, 0), (5, 7), (4, 9), (3, 9), (2, 9)), Fretboard())
    assert [str(span) for span in spans] == ["E-shape, open", "A-shape, 7th fret"]


def test_a_scatter_lies_in_no_shape_and_other_tunings_have_none():
    assert shape_spans(placed((1, 1), (6, 12)), Fretboard()) == ()
    neck = Fretboard(open_midi=tuning_from_text("open G"))
    assert shape_spans(placed((5, 5), (4, 7), (3, 7)), neck) == ()


def test_known_chords_cost_nothing_and_others_count():
    neck = Fretboard()
    assert chord_outside_shapes([(3, 7), (2, 8), (1, 7)], neck) == 0
    assert chord_outside_shapes([(4, 10), (3, 9), (2, 8)], neck) == 0
    assert chord_outside_shapes([(6, 3), (3, 4), (1, 2)], neck) == 1
    assert chord_outside_shapes([(6, 3), (3, 4)], neck) == 0


def test_a_row_of_sixths_and_of_thirds_is_named_with_its_strings():
    for name, told in (
        ("sixths walking down", "sixths on strings 1 and 3, 5th fret"),
        ("thirds on two strings", "thirds on strings 2 and 3, 5th fret"),
    ):
        passage, _, profile = lick(name)
        (span,) = solve(passage, profile=profile).shapes
        assert str(span) == told
        assert (span.first_id, span.last_id) == (passage.plucks[0].id, passage.plucks[-1].id)


def test_a_scale_in_position_is_named_after_its_shape():
    (span,) = shape_spans(
        placed(*((6, f) for f in (7, 8, 10)), *((5, f) for f in (7, 8, 10)), (4, 7), (4, 9), (4, 10)), Fretboard()
    )
    assert str(span) == "E-shape major scale, 8th fret"


def test_a_triad_in_no_chord_shape_is_named_with_its_strings():
    (span,) = shape_spans(placed((6, 5), (5, 3), (4, 1)), Fretboard())
    assert str(span) == "diminished triad in root position on strings 6-5-4, 1st fret"


def test_two_arpeggios_are_two_shapes_rather_than_one_scale():
    spans = shape_spans(placed((5, 3), (4, 5), (3, 5), (2, 5), (4, 3), (3, 2), (2, 1), (1, 1)), Fretboard())
    assert [str(span) for span in spans] == ["A-shape, 3rd fret", "E-shape, 1st fret"]


def test_shapes_keep_their_names_on_the_strings_a_lowered_sixth_leaves():
    neck = Fretboard(open_midi=tuning_from_text("drop D"))
    (span,) = shape_spans(placed((5, 5), (4, 7), (3, 7), (2, 7)), neck)
    assert str(span) == "A-shape, 5th fret"
    capo = shape_spans(placed((5, 3), (4, 2), (3, 0), (2, 1)), Fretboard(capo=4))
    assert str(capo[0]) == "C-shape, open"
