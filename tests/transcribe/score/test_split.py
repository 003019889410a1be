"""How sounds are cut into signs: patterns that engraving handbooks print (common practice)."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.rhythm.rhythm import Meter
from transcribe.score.score import WrittenValue
from transcribe.score.split import Span, note_allowed, rest_allowed, single_value, write_spans

SHORT = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th", "t": "32nd"}


def spans(text):
    """``"1 r1/2 1/2"`` as spans from the bar line on; r is a silence."""
    found, at = [], Fraction(0)
    for index, word in enumerate(text.split()):
        length = Fraction(word.removeprefix("r"))
        found.append(Span(at, at + length, None if word.startswith("r") else index))
        at += length
    return found


def signs(text, meter):
    """Signs in short: q. a dotted quarter, ~ tied on, r a rest, (e e e) a triplet."""
    words = []
    pieces = write_spans(spans(text), Meter(*map(int, meter.split("/"))))
    for index, piece in enumerate(pieces):
        letter = next(short for short, name in SHORT.items() if name == piece.value.type)
        tied = piece.sound is not None and index + 1 < len(pieces) and pieces[index + 1].sound == piece.sound
        word = ("r" if piece.sound is None else "") + letter + "." * piece.value.dots + ("~" if tied else "")
        words.append("(" * piece.tuplet_starts + word + ")" * piece.tuplet_stops)
    return " ".join(words)


@pytest.mark.parametrize(
    ("text", "meter", "written"),
    [
        ("4", "4/4", "w"),
        ("3 1", "4/4", "h. q"),
        ("1 2 1", "4/4", "q h q"),  # the syncopation that handbooks let stand: E. Gould, "Behind Bars", from memory
        ("1 2 1/2 1/2", "4/4", "q h e e"),
        ("1/2 1/2 2 1", "4/4", "e e h q"),
        ("1 5/2 1/2", "4/4", "q q~ q. e"),  # any other note over the middle of the bar shows it
        ("1 3", "4/4", "q q~ h"),
        ("3/2 1/2 2", "4/4", "q. e h"),
        ("1/2 1 1/2 2", "4/4", "e q e h"),  # plain syncopation
        ("1/2 3/2 2", "4/4", "e q. h"),
        ("3/2 3/2 1", "4/4", "q. e~ q q"),  # the second crosses the middle
        ("5/2 3/2", "4/4", "h~ e q."),
        ("7/2 1/2", "4/4", "h~ q. e"),
        ("3/4 1/4 1/4 3/4 1/4 1/2 1/4 1", "4/4", "e. s s e. s e s q"),
        ("3/4 1/2 3/4 2", "4/4", "e. s~ s e. h"),  # sixteenth syncopation over a beat is tied
        ("5/4 3/4 2", "4/4", "q~ s e. h"),
        ("2 1", "3/4", "h q"),
        ("1 2", "3/4", "q h"),
        ("3", "3/4", "h."),
        ("1 1/2 1 1/2", "6/8", "q e q e"),
        ("3/2 3/2", "6/8", "q. q."),
        ("3", "6/8", "h."),
        ("1 1 1", "6/8", "q e~ e q"),  # three against the two beats of 6/8
        ("1/2 1/2 1/2 1/4 1/4 1", "6/8", "e e e s s q"),
        ("6", "12/8", "w."),
        ("1 1/2 1/2 3/2", "7/8", "q e e q."),
        ("2", "2/4", "h"),
    ],
)
def test_notes(text, meter, written):
    assert signs(text, meter) == written


@pytest.mark.parametrize(
    ("text", "meter", "written"),
    [
        ("r4", "4/4", "rw"),
        ("r3", "3/4", "rh."),
        ("1 r3", "4/4", "q rq rh"),
        ("1 r2 1", "4/4", "q rq rq q"),  # no half rest over the middle
        ("2 r2", "4/4", "h rh"),
        ("1/2 r1 1/2 2", "4/4", "e re re e h"),  # no syncopated rest
        ("1/2 r3/2 2", "4/4", "e re rq h"),
        ("1/4 r3/4 1 2", "4/4", "s rs re q h"),
        ("1 r2", "3/4", "q rq rq"),
        ("3/2 r3/2", "6/8", "q. rq."),
        ("1/2 r1 3/2", "6/8", "e re re q."),
        ("r1 1/2 3/2", "6/8", "rq e q."),
    ],
)
def test_rests(text, meter, written):
    assert signs(text, meter) == written


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("1/3 1/3 1/3 1 2", "(e e e) q h"),
        ("2/3 1/3 1/3 2/3 2", "(q e) (e q) h"),
        ("1/3 r1/3 1/3 1 2", "(e re e) q h"),
        ("2/3 2/3 2/3 2", "(q q q) h"),  # quarter triplet over two beats
        ("1/6 1/6 1/6 1/2 1 2", "(s s s) e q h"),
        ("1/6 1/6 1/6 1/6 1/6 1/6 1 2", "(s s s) (s s s) q h"),
        ("1 4/3 1/3 1/3 1", "q q~ (e e e) q"),  # tied into a triplet
        ("1/3 1/3 4/3 2", "(e e e~) q h"),
    ],
)
def test_triplets_are_written_whole(text, written):
    assert signs(text, "4/4") == written


@given(
    st.lists(st.sampled_from(["1/8", "1/4", "1/2", "3/4", "1", "3/2", "2", "5/4"]), min_size=1, max_size=12),
    st.lists(st.booleans(), min_size=12, max_size=12),
    st.sampled_from(["4/4", "3/4", "2/4", "6/8", "9/8", "12/8", "5/4", "7/8", "2/2"]),
)
def test_signs_fill_exactly_what_they_stand_for(lengths, silent, meter):
    meter = Meter(*map(int, meter.split("/")))
    found, at = [], Fraction(0)
    for index, word in enumerate(lengths):
        end = min(at + Fraction(word), meter.bar_beats)
        if at < end:
            found.append(Span(at, end, None if silent[index] else index))
        at = end
    pieces = write_spans(found, meter)
    position = Fraction(0)
    for piece in pieces:
        assert piece.start == position
        position += piece.value.quarters
        allowed = rest_allowed if piece.sound is None else note_allowed
        assert allowed(piece.start, position, meter)
    assert position == found[-1].end
    for index, span in enumerate(found):
        if span.sound is not None:
            assert sum(p.value.quarters for p in pieces if p.sound == index) == span.end - span.start


def test_single_values():
    assert single_value(Fraction(3)) == WrittenValue("half", 1)
    assert single_value(Fraction(1, 8)) == WrittenValue("32nd")
    assert single_value(Fraction(5, 4)) is None


@pytest.mark.parametrize(
    ("text", "meter", "written"),
    [
        ("1/2 1/2 1/2 1/2 1/2 1/2", "3/4", "e e e e e e"),
        ("3/2 3/2", "3/4", "q. q."),  # two in a bar of three is read at sight
        ("1/2 5/2", "3/4", "e e~ h"),
        ("3/2 1/2 1", "6/8", "q. e q"),
        ("1 2", "6/8", "q e~ q."),  # the second beat of two is seen
        ("3 3", "12/8", "h. h."),  # the middle of four beats
        ("3/2 3 3/2", "12/8", "q. q.~ q. q."),
        ("7/2 1/2", "4/4", "h~ q. e"),  # an anticipation of the next bar
        ("1/2 1 1 1 1/2", "4/4", "e q e~ e q e"),  # off the beat throughout: the middle is seen
    ],
)
def test_groupings_of_the_meters(text, meter, written):
    """Beats shown in simple and compound meters; which groupings: common practice, as in R. Hutchinson, "Music Theory
    for the 21st-Century Classroom" (open textbook), chapters on meter and common errors of rhythmic notation.
    """
    assert signs(text, meter) == written
