from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from transcribe.harmony.phrases import phrase_ends
from transcribe.harmony.sounding import Sounded

BAR = Fraction(4)


def starts(*lengths_and_rests):
    """Notes of these lengths, a negative one is a rest."""
    at, notes = Fraction(0), []
    for told in lengths_and_rests:
        length = Fraction(told)
        if length > 0:
            notes.append(Sounded(f"n{len(notes)}", 60, 60, at, length, at + length))
        at += abs(length)
    return notes


def test_a_rest_of_a_beat_parts_two_phrases():
    assert phrase_ends(starts(1, 1, 1, 1, 1, 1, -2, 1, 1, 1, 1), BAR) == (5, 11)


def test_a_short_rest_does_not():
    assert phrase_ends(starts(1, 1, 1, 1, 1, 1, "-1/2", 1, 1, 1, 1), BAR)[0] != 5


def test_a_long_note_among_short_ones_ends_a_phrase():
    assert phrase_ends(starts(*["1/2"] * 8, 2, *["1/2"] * 8, 2), BAR) == (4, 10)


def test_long_notes_of_a_rhythm_of_long_and_short_end_nothing():
    assert phrase_ends(starts(2, 1, 2, 1, 2, 1, 2, 1), Fraction(3)) == (11,)


def test_a_length_that_comes_again_and_again_ends_nothing():
    assert phrase_ends(starts(*["1/2", "1/2", "2"] * 6), None) == (16,)


def test_four_bars_end_a_phrase_and_take_their_pickup_with_them():
    assert phrase_ends(starts(*[1] * 24), BAR) == (15, 23)
    shifted = [Sounded(n.id, 60, 60, n.start - 1, n.length, n.end - 1) for n in starts(*[1] * 24)]
    assert phrase_ends(shifted, BAR) == (14, 22)


def test_without_bars_gaps_alone_tell():
    assert phrase_ends(starts(*[1] * 24), None) == (23,)
    assert phrase_ends((), BAR) == ()


@given(
    st.lists(st.sampled_from(["1/2", "1", "2", "-1"]), min_size=1, max_size=30).filter(
        lambda told: "-1" not in told[:1]
    )
)
def test_the_last_moment_ends_a_phrase_and_ends_are_moments_in_order(told):
    notes = starts(*told)
    ends = phrase_ends(notes, BAR)
    assert ends[-1] == notes[-1].start
    assert list(ends) == sorted(set(ends))
    assert set(ends) <= {note.start for note in notes}
