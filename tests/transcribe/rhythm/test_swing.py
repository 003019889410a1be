from fractions import Fraction

from transcribe.rhythm.swing import heard_feel, unswung

THIRD = Fraction(1, 3)


def test_long_short_beats_swing():
    places = [beat + part for beat in range(4) for part in (0, 2 * THIRD)]
    assert heard_feel(places, Fraction(1)) == "swing"
    assert unswung(places) == tuple(Fraction(half, 2) for half in range(8))


def test_even_eighths_and_full_triplets_do_not():
    assert heard_feel([Fraction(half, 2) for half in range(8)], Fraction(1)) == "straight"
    assert heard_feel([index * THIRD for index in range(12)], Fraction(1)) == "straight"


def test_two_long_short_beats_are_triplets_still():
    assert heard_feel([Fraction(0), 2 * THIRD, Fraction(1), 1 + 2 * THIRD, Fraction(2)], Fraction(1)) == "straight"


def test_a_triplet_among_swung_beats_stays():
    places = [Fraction(0), THIRD, 2 * THIRD, Fraction(1), 1 + 2 * THIRD]
    assert unswung(places) == (0, THIRD, 2 * THIRD, 1, Fraction(3, 2))


def test_dotted_beats_do_not_swing():
    places = [beat * Fraction(3, 2) + part for beat in range(4) for part in (0, Fraction(1))]
    assert heard_feel(places, Fraction(3, 2)) == "straight"
