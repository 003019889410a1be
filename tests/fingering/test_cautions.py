from dataclasses import replace

from fingering import Fretboard, Passage, Pluck, solve
from tests.fingering_music import line


def test_five_frets_at_the_nut_are_flagged_with_advice_and_the_same_reach_up_the_neck_is_not():
    def stretch(up):
        pair = (Pluck("a", 0, 1, 65 + up, locked_string=1), Pluck("b", 0, 1, 40 + 5 + up, locked_string=6))
        return solve(Passage(pair)).cautions

    (found,) = stretch(0)
    assert "126 mm" in found.why
    assert "stop if it hurts" in found.advice
    assert stretch(11) == ()


def test_a_harmonic_that_rings_on_is_no_stretch():
    low = Pluck("bell", 0.0, 4.0, 52, harmonic=True, let_ring=True), Pluck("after", 0.5, 4.0, 57, locked_fret=2)
    assert solve(Passage(low)).cautions == ()
    together = Pluck("bell", 0.0, 4.0, 59, harmonic=True, locked_fret=7), Pluck("with it", 0.0, 4.0, 67, locked_fret=3)
    (found,) = solve(Passage(together)).cautions
    assert "between the outer fingers" in found.why


def test_a_hard_bend_near_the_nut_is_flagged():
    near = solve(line(66, bend_semitones=2.0, locked_string=1)).cautions
    far = solve(line(76, bend_semitones=2.0, locked_string=1)).cautions
    hard = solve(line(67, bend_semitones=3.0, locked_string=1)).cautions
    assert far == ()
    assert near == ()
    assert "N of push" in hard[0].why


def test_many_wide_bends_in_a_row_are_flagged_once():
    bends = line(*[69] * 12, bend_semitones=2.0)
    assert [caution.id for caution in solve(bends).cautions] == ["n8"]
    slow = Passage(tuple(replace(p, onset_s=i * 9.0, end_s=i * 9.0 + 1) for i, p in enumerate(bends.plucks)))
    assert solve(slow).cautions == ()


def test_the_flag_follows_the_scale_length():
    pair = (Pluck("a", 0, 1, 66, locked_string=1), Pluck("b", 0, 1, 43, locked_string=6))
    assert solve(Passage(pair), Fretboard(scale_length_mm=648.0)).cautions == ()
    wide = Passage((Pluck("a", 0, 1, 67, locked_string=1), Pluck("b", 0, 1, 43, locked_string=6)))
    assert solve(wide).cautions == ()
