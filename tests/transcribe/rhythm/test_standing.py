"""What the judge sees of each note and of a whole line."""

from fractions import Fraction

import numpy as np
import pytest

from transcribe.rhythm.line_facts import LINE_FACTS, line_facts
from transcribe.rhythm.rhythm import Meter
from transcribe.rhythm.standing import NOTE_ROW, Standing, note_rows

SCALE = (60, 62, 64, 65, 67, 69, 71, 72)


FOUR_FOUR = Meter(4, 4)


def line(written, meter=FOUR_FOUR, midis=SCALE):
    """Notes at places in quarters from bar 1."""
    at = np.array([int(Fraction(place) * 24) for place in written.split()])
    return Standing(at, np.array([midis[number % len(midis)] for number in range(at.size)]), meter)


def fact(standing, name, last_quarters=1.0):
    return line_facts(standing, last_quarters)[LINE_FACTS.index(name)]


def test_there_is_a_value_for_every_fact_and_a_row_for_every_note():
    standing = line("0 1 2 3 4 5")
    assert line_facts(standing, 1.0).shape == (len(LINE_FACTS),)
    assert note_rows(standing).shape == (6, NOTE_ROW)
    assert len(set(LINE_FACTS)) == len(LINE_FACTS)


def test_the_tonic_is_found_from_how_long_the_notes_last():
    standing = line("0 2 3 4 6 7 8 10", midis=(67, 69, 71, 67, 74, 71, 67, 67))  # G major
    assert standing.degree[0] == 0
    assert standing.degree[4] == 4  # the fifth


def test_a_note_after_a_long_one_begins_a_phrase():
    assert np.flatnonzero(line("0 1/2 1 3/2 2 4 9/2 5 11/2 6").phrase).tolist() == [5]


@pytest.mark.parametrize(("meter", "alike"), [(Meter(4, 4), 2), (Meter(3, 4), 0)])
def test_bars_that_are_divided_alike_speak_for_their_metre(meter, alike):
    bars = " ".join(f"{4 * bar} {4 * bar + 1} {4 * bar + 2}" for bar in range(5))
    assert fact(line(bars, meter), "bars alike") == alike


def test_a_tune_that_comes_again_after_two_bars_is_seen_to():
    twice = line("0 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15")
    assert fact(twice, "2 bars on: same") == 8
    assert fact(twice, "1 bars on: same") == 0
    assert fact(twice, "2 bars on: figure as at first") == 1


@pytest.mark.parametrize(("last_quarters", "whole"), [(2.6, 1.0), (3.7, 0.0)])
def test_a_last_bar_that_makes_the_pickup_whole_is_seen(last_quarters, whole):
    """A pickup of one quarter: a last note on a downbeat that is held for three."""
    assert fact(line("-1 0 2 3 4"), "end makes the pickup whole", last_quarters) == whole


def test_chords_that_change_at_bar_lines_speak_for_them():
    midis = (60, 64, 67, 60, 65, 69, 72, 65) * 2
    beats = " ".join(map(str, range(16)))
    moved = " ".join(str(beat - 2) for beat in range(16))
    on_line, astride = (fact(line(places, midis=midis), "chord a bar") for places in (beats, moved))
    assert on_line < astride
