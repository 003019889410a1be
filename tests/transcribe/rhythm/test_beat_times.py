import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.rhythm_music import played
from transcribe.errors import SettingsError
from transcribe.rhythm.beat_times import BeatTimes, gone_on, straightened
from transcribe.rhythm.beats import fit_rhythm
from transcribe.rhythm.onsets import moments
from transcribe.rhythm.quantize import place_of, quantize
from transcribe.settings import RhythmSettings


def test_beats_that_slow_down_are_laid_even():
    beats = BeatTimes((1.0, 1.5, 2.1, 2.9), True)
    assert abs(float(beats.evened(2.5)) - (1.0 + 2.5 * beats.beat_s)) < 1e-9
    assert abs(beats.heard(float(beats.evened(2.5))) - 2.5) < 1e-9


@given(st.lists(st.floats(0.3, 1.2), min_size=2, max_size=10), st.floats(-3, 15))
def test_evening_and_hearing_undo_each_other(steps, at_s):
    beats = BeatTimes(tuple(np.cumsum([1.0, *steps]).tolist()), True)
    assert abs(beats.heard(float(beats.evened(at_s))) - at_s) < 1e-6


def test_taps_that_are_no_beat_are_refused():
    for times in ((1.0,), (1.0, 1.05), (2.0, 1.0), (1.0, 9.0)):
        with pytest.raises(SettingsError):
            BeatTimes(times, True)


def test_taps_lead_through_a_line_that_slows_down():
    def clock(quarters):
        return 0.6 * quarters + 0.012 * quarters**2

    line = played("1/2 1/2 1 1/2 1/2 1 1/2 1/2 1 1 2", 100, clock=clock)
    taps = BeatTimes(tuple(1.0 + clock(beat) for beat in range(11)), True)
    rhythm = fit_rhythm(line.notes, beat_times=taps)
    timings = quantize(line.notes, rhythm)
    assert [place_of(timings[note.id], rhythm) for note in line.notes] == list(line.places)
    assert rhythm.tempo_source == "given"
    assert rhythm.beats_s == taps.times_s


def test_even_beats_leave_moments_where_they_are():
    heard = moments(played("1 1/2 1/2 1 1", 120).notes, RhythmSettings())
    moved = straightened(heard, BeatTimes((1.0, 1.5, 2.0, 2.5), True))
    assert np.allclose([each.onset_s for each in moved], [each.onset_s for each in heard], atol=1e-9)


def test_beats_of_one_click_go_on_through_a_passage_that_tells_none():
    beats = BeatTimes((3.0, 3.6, 4.2, 4.8), True, "click")
    later = BeatTimes((121.8, 122.4), False, "click")
    row = gone_on(beats, later)
    assert row.starts_bar
    assert row.source == "click"
    assert np.allclose(row.times_s, 3.0 + 0.6 * np.arange(200), atol=1e-9)


def test_beats_beside_the_row_or_of_another_tempo_do_not_go_on_with_it():
    beats = BeatTimes((3.0, 3.6, 4.2, 4.8), True, "click")
    assert gone_on(beats, BeatTimes((60.3, 60.9, 61.5), False, "click")) == beats
    assert gone_on(beats, BeatTimes((5.4, 6.1, 6.8), False, "click")) == beats


def test_beats_told_twice_where_passages_meet_are_told_once():
    beats = BeatTimes((3.0, 3.6, 4.2, 4.8), True, "click")
    assert gone_on(beats, BeatTimes((4.201, 4.801, 5.401), False, "click")).times_s == (3.0, 3.6, 4.2, 4.8, 5.401)
