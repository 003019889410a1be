"""Chord diagrams: right places, fingers a hand can hold, nothing told twice."""

from dataclasses import replace
from fractions import Fraction

import pytest

from fingering.fretboard import Fretboard
from tests.golden.licks import Page
from transcribe.harmony.key import Key
from transcribe.score.build import build_score
from transcribe.score.score import ChordMark
from transcribe.write.diagrams import diagrams_of, grip_fingers


def arpeggio(*places, chords=(), fingers=None, **guitar):
    page = Page(**guitar)
    for string, fret in places:
        page.note("1/2", string, fret)
    document = page.document()
    if fingers:
        document = replace(
            document,
            notes=tuple(
                replace(take, placement=replace(take.placement, finger=finger))
                for take, finger in zip(document.notes, fingers, strict=True)
            ),
        )
    return replace(build_score(document), chords=chords)


A_MINOR = ((6, 5), (5, 7), (4, 7), (3, 5), (2, 5), (1, 5))


def test_an_arpeggio_is_recognised_and_drawn_as_its_shape():
    (found,) = diagrams_of(arpeggio(*A_MINOR))
    assert (found.name, found.where) == ("Am", "E-shape minor, 5th fret")
    assert [(dot.string, dot.fret) for dot in found.dots] == list(A_MINOR)
    assert all(dot.played for dot in found.dots)
    assert [dot.string for dot in found.dots if dot.is_root] == [6, 4, 1]
    assert found.silent == ()


def test_with_no_finger_told_the_whole_grip_gets_the_usual_ones():
    """The barre on the first finger, ring and little finger two frets up (common practice)."""
    (found,) = diagrams_of(arpeggio(*A_MINOR))
    assert [dot.finger for dot in found.dots] == [1, 3, 4, 1, 1, 1]


def test_the_takes_own_fingers_are_kept_and_none_is_added_to_them():
    (found,) = diagrams_of(arpeggio(*A_MINOR[2:], fingers=(4, 1, 1, 1)))
    assert [(dot.finger, dot.played) for dot in found.dots] == [
        (None, False), (None, False), (4, True), (1, True), (1, True), (1, True),
    ]  # fmt: skip


def test_a_chord_named_in_the_document_is_told_once_with_its_symbol():
    chord = ChordMark(1, Fraction(0), "Am", "i", None, "E", 5)
    again = replace(chord, bar=2)
    (found,) = diagrams_of(arpeggio(*A_MINOR, chords=(chord, again)))
    assert found.name == "Am"


def test_the_upper_notes_of_a_chord_are_no_chord_of_their_own():
    """G, B, D and F# of an Em9 lie in a shape of Gmaj7, which nobody hears there."""
    upper = ((5, 10), (4, 9), (3, 7), (2, 7))
    assert [found.name for found in diagrams_of(arpeggio(*upper))] == ["Gmaj7"]
    assert diagrams_of(arpeggio(*upper, chords=(ChordMark(1, Fraction(0), "Em9"),))) == ()


def test_only_notes_under_the_chord_count_as_played():
    early = ChordMark(1, Fraction(0), "D", None, None, "A", 5)
    later = ChordMark(1, Fraction(1, 2), "Dm", None, None, "A", 5)
    found = diagrams_of(arpeggio((5, 5), (4, 7), chords=(early, later)))
    assert [[(dot.string, dot.fret) for dot in one.dots if dot.played] for one in found] == [[(5, 5)], [(4, 7)]]


def test_silent_strings_and_open_ones_are_told():
    (found,) = diagrams_of(arpeggio((5, 0), (4, 2), (3, 2), (2, 2), (1, 0)))
    assert (found.name, found.where, found.silent) == ("A", "A-shape, open", (6,))
    assert "string 1 open" in found.words
    assert "string 6 silent" in found.words


def test_a_scale_box_marks_what_is_played_and_silences_nothing():
    box = ((6, 5), (6, 8), (5, 5), (5, 7), (4, 5), (4, 7), (3, 5))
    found = [one for one in diagrams_of(arpeggio(*box)) if "pentatonic" in one.name]
    assert [one.name for one in found] == ["A minor pentatonic"]
    assert found[0].silent == ()
    assert {(dot.string, dot.fret) for dot in found[0].dots if dot.played} == set(box)
    assert len(found[0].dots) == 12


def test_a_box_that_is_soon_left_is_not_shown():
    """Seven notes of a box, then fifteen high on the first string."""
    box = ((6, 5), (6, 8), (5, 5), (5, 7), (4, 5), (4, 7), (3, 5))
    away = tuple((1, fret) for fret in (17, 13, 14, 16, 20) * 3)
    assert "A minor pentatonic" in [one.name for one in diagrams_of(arpeggio(*box))]
    assert diagrams_of(arpeggio(*box, *away)) == ()


def test_a_shape_met_again_gathers_what_is_played_in_it():
    low, high = ((6, 5), (5, 7), (4, 7)), ((3, 5), (2, 5), (1, 5))
    one = ChordMark(1, Fraction(0), "Am", None, None, "E", 5)
    (found,) = diagrams_of(arpeggio(*low, *high, chords=(one, replace(one, beat=Fraction(3, 2)))))
    assert all(dot.played for dot in found.dots)


@pytest.mark.parametrize("symbol", ["A7#9", "N.C.", "?", ""])
def test_a_quality_outside_the_table_gets_no_diagram(symbol):
    chord = ChordMark(1, Fraction(0), symbol, None, None, "E", 5)
    assert diagrams_of(arpeggio((6, 5), (5, 7), chords=(chord,))) == ()


def test_shapes_have_no_names_in_other_tunings_or_on_other_guitars():
    assert diagrams_of(arpeggio(*A_MINOR, open_midi=(62, 59, 55, 50, 43, 38))) == ()
    assert diagrams_of(arpeggio((1, 3), (2, 3), (3, 4), open_midi=(67, 62, 57, 52))) == ()


def test_a_capo_moves_the_sound_but_not_the_shape():
    (found,) = diagrams_of(arpeggio((5, 0), (4, 2), (3, 2), (2, 2), (1, 0), capo=2))
    assert (found.name, found.where, found.capo) == ("B", "A-shape, open", 2)


def test_a_chord_no_hand_can_hold_gets_no_fingers():
    assert grip_fingers(((6, 1), (5, 9), (4, 1)), Fretboard()) == {}


@pytest.mark.parametrize(
    ("places", "fingers"),
    [
        (((5, 3), (4, 2), (3, 0), (2, 1), (1, 0)), (3, 2, 0, 1, 0)),
        (((6, 0), (5, 2), (4, 2), (3, 1), (2, 0), (1, 0)), (0, 2, 3, 1, 0, 0)),
        (((6, 3), (5, 2), (4, 0), (3, 0), (2, 0), (1, 3)), (3, 2, 0, 0, 0, 4)),
    ],
    ids=["C", "E", "G"],
)
def test_open_chords_get_the_fingers_every_beginner_learns(places, fingers):
    """Common practice for the open chords of C, E and G."""
    found = grip_fingers(places, Fretboard())
    assert tuple(found[place] for place in places) == fingers


@pytest.mark.parametrize(
    ("key", "shown"),
    [
        (Key("A", "minor"), True),
        (Key("C", "major"), True),  # the same notes
        (Key("A", "major"), True),  # the blues way: its tonic, a minor third on it
        (Key("E", "minor"), True),
        (Key("E", "major"), False),
        (Key("B", "minor"), False),  # C is foreign, and the root is not B
    ],
    ids=lambda value: f"{value.tonic} {value.mode}" if isinstance(value, Key) else "",
)
def test_a_scale_box_is_shown_where_it_says_something_of_the_key(key, shown):
    """A minor pentatonic holds A, C, D, E and G."""
    box = ((6, 5), (6, 8), (5, 5), (5, 7), (4, 5), (4, 7), (3, 5))
    assert bool(diagrams_of(replace(arpeggio(*box), key=key))) is shown
