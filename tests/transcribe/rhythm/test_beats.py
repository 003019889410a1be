from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rhythm_music import played
from tests.strategies import single_lines
from transcribe.rhythm.beats import fit_rhythm
from transcribe.rhythm.quantize import place_of, quantize
from transcribe.rhythm.rhythm import Meter
from transcribe.settings import RhythmSettings

LICK = "1 1/2 1/2 3/2 1/2 1/2 1/2 1/4 1/4 1/2 2"


@pytest.mark.parametrize("bpm", [72, 96, 120])
def test_tempo_and_downbeat_of_a_steady_lick(bpm):
    line = played(LICK, bpm, jitter_s=0.015, seed=bpm, start_s=2.0)
    rhythm = fit_rhythm(line.notes)
    assert abs(rhythm.tempo_bpm / bpm - 1) < 0.01
    assert abs(rhythm.first_downbeat_s - 2.0) < 0.02
    assert rhythm.pickup_beats == 0
    assert rhythm.tempo_source == "estimated"


def test_a_given_tempo_is_kept_as_it_is():
    rhythm = fit_rhythm(played(LICK, 97.0).notes, tempo_bpm=96.0)
    assert rhythm.tempo_bpm == 96.0
    assert rhythm.tempo_source == "given"


def test_a_given_downbeat_makes_what_lies_before_it_a_pickup():
    line = played("1/2 1/2 1 1 1 1", 120, start_s=1.0)
    rhythm = fit_rhythm(line.notes, tempo_bpm=120, first_downbeat_s=1.5)
    assert rhythm.first_downbeat_s == 1.5
    assert rhythm.pickup_beats == 1


def test_bars_before_the_given_downbeat_are_bars_not_a_long_pickup():
    line = played("1 " * 12, 120, start_s=1.0)
    rhythm = fit_rhythm(line.notes, tempo_bpm=120, meter=Meter(4, 4), first_downbeat_s=4.5)  # the eighth note
    assert rhythm.first_downbeat_s == 2.5
    assert rhythm.pickup_beats == 3


def test_a_first_note_just_before_a_given_downbeat_is_on_it():
    line = played(LICK, 100, start_s=0.99)
    assert fit_rhythm(line.notes, tempo_bpm=100, first_downbeat_s=1.0).pickup_beats == 0


@pytest.mark.parametrize("written", ["", "1", "1 1"])
def test_too_few_notes_take_the_middle_tempo_and_start_on_the_downbeat(written):
    line = played(written, 71, start_s=3.0)
    rhythm = fit_rhythm(line.notes)
    assert rhythm.tempo_bpm == RhythmSettings().middle_bpm
    assert rhythm.first_downbeat_s == (3.0 if written else 0.0)


def test_swung_eighths_are_heard_as_swing():
    line = played("2/3 1/3 " * 6 + "2", 110, jitter_s=0.012)
    rhythm = fit_rhythm(line.notes)
    assert rhythm.feel == "swing"
    assert abs(rhythm.tempo_bpm - 110) < 1


def test_six_eight():
    rhythm = fit_rhythm(played("1/2 1/2 1/2 1 1/2 " * 4, 132).notes, meter=Meter(6, 8))
    assert abs(rhythm.tempo_bpm - 132) < 1
    assert rhythm.meter == Meter(6, 8)


def test_legato_and_quiet_notes_do_not_pull_the_beat():
    line = played("1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2 2", 90, start_s=1.0)
    late = [
        replace(note, onset_s=note.onset_s + 0.05, attack="hammer-on") if index % 2 else note
        for index, note in enumerate(line.notes)
    ]
    rhythm = fit_rhythm(late, tempo_bpm=90)
    assert abs(rhythm.first_downbeat_s - 1.0) < 0.02


@settings(max_examples=15)
@given(st.floats(0.0, 20.0))
def test_moving_the_take_in_time_moves_the_downbeat_and_nothing_else(shift_s):
    line = played(LICK, 96, jitter_s=0.01, seed=4)
    moved = [replace(note, onset_s=note.onset_s + shift_s, offset_s=note.offset_s + shift_s) for note in line.notes]
    before, after = fit_rhythm(line.notes), fit_rhythm(moved)
    assert abs(after.first_downbeat_s - before.first_downbeat_s - shift_s) < 1e-6
    assert abs(after.tempo_bpm - before.tempo_bpm) < 1e-6
    assert quantize(moved, after) == quantize(line.notes, before)


@settings(max_examples=40)
@given(single_lines(most=14))
def test_any_line_gets_a_rhythm_it_can_be_written_in(notes):
    rhythm = fit_rhythm(notes)
    places = [place_of(timing, rhythm) for timing in quantize(notes, rhythm).values()]
    assert len(set(places)) == len(notes)
    assert all(place >= -rhythm.pickup_beats for place in places)
    assert 0 <= rhythm.pickup_beats < 4
