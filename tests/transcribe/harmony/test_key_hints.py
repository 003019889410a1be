from fractions import Fraction

import numpy as np

from tests.harmony_lines import line
from transcribe.harmony.key_guitar import COLUMNS, guitar_hints
from transcribe.harmony.key_hints import HINTS, hints, pitch_class_weights, root_of
from transcribe.harmony.sounding import Sounded

BAR = Fraction(4)


def row(name, notes, backing=()):
    return hints(notes, BAR, backing)[HINTS.index(name)]


def test_a_bend_let_down_counts_at_both_pitches():
    bent = Sounded("n1", 64, 62, Fraction(0), Fraction(2), Fraction(2), 1.0, released=True)
    weights = pitch_class_weights((bent,))
    assert (weights[4], weights[2]) == (1.0, 1.0)


def test_the_root_of_the_last_chord_is_its_end():
    assert root_of([59, 62, 67]) == 7
    assert root_of([64, 72]) == 0
    assert root_of([40, 47]) == 4


def test_each_hint_is_told_of_the_pitch_class_it_is_about():
    notes = line(64, 67, 72, (60, "2"), 71, 72)
    assert row("first downbeat", notes).argmax() == 4
    assert row("last", notes).argmax() == 0
    assert row("lowest", notes).argmax() == 0
    assert row("highest", notes).argmax() == 0
    assert row("longest", notes).argmax() == 0
    assert row("sounded", notes).sum() == 1
    assert set(np.flatnonzero(row("heard at all", notes))) == {0, 4, 7, 11}


def test_moves_count_where_they_arrive():
    notes = line(71, 72, 67, 72)  # a half step up to C, a fourth down to G, a fourth up to C
    assert row("reached by a half step up", notes).tolist() == [0.5, *[0] * 11]
    assert np.flatnonzero(row("reached by a fourth up or fifth down", notes)).tolist() == [0]
    assert np.flatnonzero(row("reached by a fifth up or fourth down", notes)).tolist() == [7]


def test_a_triad_at_either_end_is_told_by_its_root_and_kind():
    notes = line(61, 64, 69, 62, 60, 64, 57, 60)  # C# E A ... C E A from the end: A, C, E
    assert np.flatnonzero(row("begins on a major triad", notes)).tolist() == [9]
    assert np.flatnonzero(row("ends on a minor triad", notes)).tolist() == [9]
    assert row("begins on a minor triad", notes).sum() == row("ends on a major triad", notes).sum() == 0


def test_the_tones_of_the_backing_are_heard_but_move_nowhere():
    notes = line(67, 67)
    low = (Sounded("c", 36, 36, Fraction(0), Fraction(2), Fraction(2)),)
    assert row("lowest", notes, low).argmax() == 0
    assert row("reached by a fifth up or fourth down", notes, low).sum() == 0


def columns(notes, key):
    return dict(zip(COLUMNS, guitar_hints(notes)[key], strict=True))


def test_habits_of_the_guitar():
    a_minor, g_major = 12 + 9, 7
    box = line(69, 72, 74, 75, 76, 79)
    assert columns(box, a_minor)["minor box"] == 1
    assert columns(line(69, 72, 74, 77), a_minor)["minor box"] == 0
    blues = columns(line(67, 70, 71, 74, 77), g_major)
    assert (blues["both thirds"], blues["minor third up to major"], blues["dominant"]) == (1, 1, 1)
    assert columns(line(40, 47, 40, 50, 40), 4)["pedal"] == 1
    assert columns(line(40, 47, 50, 52, 40), 4)["pedal"] == 0


def test_a_broken_triad_alone_is_home_on_its_root():
    for pitches, key in (((57, 60, 64), 12 + 9), ((64, 68, 71), 4)):
        assert columns(line(*pitches), key)["triad"] == 1
    assert columns(line(57, 60, 64, 67), 12 + 9)["triad"] == 0


def test_a_bend_up_to_the_tonic_speaks_for_it():
    bent = (Sounded("n1", 69, 67, Fraction(0), Fraction(1), Fraction(1)),)
    assert columns(bent, 12 + 9)["bends"] > columns(bent, 12 + 4)["bends"]


def test_doubling_every_note_says_no_more_of_how_the_line_moves():
    single = line(71, 72, 67, 72)
    octaves = line((59, 71), (60, 72), (55, 67), (60, 72))
    for name in HINTS:
        if name.startswith("reached"):
            assert row(name, single).tolist() == row(name, octaves).tolist()
