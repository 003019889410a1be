from fractions import Fraction

import pytest

from tests.harmony_lines import line
from transcribe.harmony.cadences import full_cadence, with_cadences
from transcribe.harmony.chord import chord_from_text
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import key_from_text

G = key_from_text("G")
BAR = Fraction(4)


def told(symbols, source="given"):
    return [
        ChordSpan(Fraction(4 * k), Fraction(4 * k + 4), symbol, source=source)
        for k, symbol in enumerate(symbols.split())
    ]


def closes(spans, ends, pitches=(67,) * 16, bass_told=None):
    notes = line(*pitches, length="1")
    known = {span.start_beat for span in spans} if bass_told is None else bass_told
    found = with_cadences(spans, notes, G, [Fraction(end) for end in ends], known, BAR)
    return [span.cadence for span in found]


def test_each_phrase_closes_with_its_own_cadence():
    assert closes(told("G D D7 G"), (7, 15)) == [None, "half", None, "perfect authentic"]
    assert closes(told("C G D Em"), (7, 15)) == [None, "plagal", None, "deceptive"]


def test_chords_inside_a_phrase_close_nothing():
    assert closes(told("G D G C"), (15,)) == [None] * 4


def test_a_chord_that_goes_on_over_the_next_phrase_closes_once():
    spans = [*told("D7"), ChordSpan(Fraction(4), Fraction(16), "G")]
    assert closes(spans, (7, 15), (*(67,) * 15, 71)) == [None, "perfect authentic"]


def test_chords_far_apart_make_no_cadence():
    spans = [ChordSpan(Fraction(0), Fraction(1), "D7"), ChordSpan(Fraction(12), Fraction(16), "G")]
    assert closes(spans, (15,)) == [None, None]


def test_what_a_person_told_goes_before_what_is_heard():
    spans = sorted(
        [*told("D7 G"), ChordSpan(Fraction(6), Fraction(8), "Em", source="heard")], key=lambda s: s.start_beat
    )
    assert closes(spans, (7,)) == [None, "perfect authentic", None]


@pytest.mark.parametrize(
    ("before", "last", "melody", "name"),
    [
        ("D7", "G", 67, "authentic"),  # perfect if the bass has the roots: nobody knows
        ("D7", "G", 71, "imperfect authentic"),  # whatever the bass does
        ("F#dim", "G", 67, "imperfect authentic"),
    ],
)
def test_without_a_bass_nothing_is_called_perfect(before, last, melody, name):
    chords = chord_from_text(before), chord_from_text(last)
    assert full_cadence(*chords, G, melody=melody, bass_told=False) == name


def test_a_locked_chord_stays_as_it_is():
    spans = [*told("D7"), ChordSpan(Fraction(4), Fraction(8), "G", locked=("symbol",))]
    assert closes(spans, (7,)) == [None, None]
