"""A click told from the playing around it, and followed through it."""

import numpy as np
import pytest

from tests.signals import RATE_HZ, hz, placed, plucked, steady, tone
from transcribe.notes.note import Note
from transcribe.rhythm.clicks import Clicks, click_beats, heard_clicks, without_clicks

BEAT_S = 0.6


def click(pitch_hz=1600.0, level=0.4):
    length = int(0.03 * RATE_HZ)
    return tone(steady(pitch_hz, 0.03), level=level)[:length] * np.exp(-np.arange(length) / (0.006 * RATE_HZ))


def clicks(count, first_s=0.5, beat_s=BEAT_S, level=0.4):
    return [(first_s + k * beat_s, click(2000 if k % 4 == 0 else 1600, level)) for k in range(count)]


def line(first_s, count=8, step_s=BEAT_S / 2, level=0.5, off_s=0.004):
    return [
        (first_s + k * step_s + off_s * (-1) ** k, plucked(steady(hz(57 + k % 5), step_s * 0.9), level=level))
        for k in range(count)
    ]


def take(*events, seconds=9.0):
    return placed(*events, seconds=seconds)


def row(count, counted=None, first_s=0.5):
    return Clicks(
        tuple(first_s + k * BEAT_S for k in range(count)), (True,) * count, count if counted is None else counted
    )


def test_a_count_in_before_the_playing_is_heard():
    found = heard_clicks(take(*clicks(4), *line(0.5 + 4 * BEAT_S)), RATE_HZ)
    assert found is not None
    assert found.counted == 4
    assert found.heard == (True,) * 4
    assert abs(found.click_s - BEAT_S) < 0.003
    assert abs(found.times_s[0] - 0.5) < 0.02


def test_a_click_that_goes_on_under_the_playing_is_followed_to_its_end():
    """Four counts, eight clicks under loud eighths, one bar of rest, eight more under the playing."""
    starts = (0.5 + 4 * BEAT_S, 0.5 + 16 * BEAT_S)
    playing = [note for start_s in starts for note in line(start_s, 16)]
    found = heard_clicks(take(*clicks(26), *playing, seconds=17.0), RATE_HZ)
    assert found.counted == 4
    assert len(found.times_s) == 26
    assert np.allclose(found.times_s, 0.5 + BEAT_S * np.arange(26), atol=0.015)
    assert all(found.heard[12:16])  # in the rest
    beats = click_beats(found, [Note("n1", starts[0], starts[0] + 0.3, 60)])
    assert beats.starts_bar
    assert np.allclose(beats.times_s, 0.5 + BEAT_S * np.arange(4, 26), atol=0.015)


def test_places_where_the_playing_drowns_the_click_are_no_clicks():
    """Soft clicks: the loud notes on each beat are all that is heard there."""
    start_s = 0.5 + 4 * BEAT_S
    counted = [*clicks(4, level=0.05), *clicks(4, 0.5 + 12 * BEAT_S, level=0.05)]
    found = heard_clicks(take(*counted, *line(start_s, 16, off_s=0.0), seconds=11.0), RATE_HZ)
    assert found.heard == (True,) * 4 + (False,) * 8 + (True,) * 4


@pytest.mark.parametrize("rest", [12, 36])
def test_a_longer_row_after_the_playing_does_not_hide_the_count_in(rest):
    """Loud playing from the fifth beat to ``rest``, then nine clicks on the same row."""
    playing = line(0.5 + 4 * BEAT_S, (rest - 4) * 2)
    last = clicks(9, 0.5 + rest * BEAT_S)
    found = heard_clicks(take(*clicks(4), *playing, *last, seconds=1.5 + (rest + 9) * BEAT_S), RATE_HZ)
    assert found.counted == 4
    assert abs(found.times_s[0] - 0.5) < 0.015
    assert len(found.times_s) == rest + 9
    assert all(found.heard[-9:])


def test_a_row_heard_in_short_rests_alone_is_followed_as_its_spacing_gets_known_better():
    """92 to the minute, four clicks at the start of every third bar: four of them tell the spacing to half a ms."""
    beat_s = 60 / 92
    heard = [event for bar in range(0, 36, 3) for event in clicks(4, 0.5 + bar * 4 * beat_s, beat_s)]
    found = heard_clicks(take(*heard, seconds=94.0), RATE_HZ)
    assert found.heard == tuple(k % 12 < 4 for k in range(136))
    assert np.allclose(found.times_s, 0.5 + beat_s * np.arange(136), atol=0.015)


def test_clicks_only_after_the_playing_count_nothing_in():
    playing = line(0.5, 8)
    found = heard_clicks(take(*playing, *clicks(6, 3.5), seconds=8.0), RATE_HZ)
    beats = click_beats(found, [Note("n1", 0.5, 0.8, 60)])
    assert not beats.starts_bar
    assert beats.beat_s == pytest.approx(BEAT_S, abs=0.003)


def test_a_count_in_later_than_two_minutes_is_heard():
    found = heard_clicks(take(*clicks(4, 130.0), *line(130.0 + 4 * BEAT_S), seconds=135.0), RATE_HZ)
    assert found.counted == 4
    assert found.times_s[0] == pytest.approx(130.0, abs=0.015)


def test_playing_on_the_beat_after_a_count_in_is_no_click():
    """Short notes that die away like a click, as even as a good hand, of another colour."""
    at = 0.5 + BEAT_S * np.arange(4, 12) + np.random.default_rng(1).normal(0, 0.006, 8)
    short = [(time, plucked(steady(hz(64), 0.06), decay_s=0.1)) for time in at]
    found = heard_clicks(take(*clicks(4), *short), RATE_HZ)
    assert found.counted == 4
    assert len(found.times_s) == 4


def test_playing_alone_holds_no_click():
    assert heard_clicks(take(*line(0.5, 24)), RATE_HZ) is None
    assert heard_clicks(np.zeros(5 * RATE_HZ), RATE_HZ) is None
    assert heard_clicks(np.zeros(10), RATE_HZ) is None


def test_hands_that_stray_by_ten_milliseconds_are_no_machine():
    at = 0.5 + 0.5 * np.arange(16) + np.random.default_rng(0).normal(0, 0.01, 16)
    assert heard_clicks(take(*[(time, click()) for time in at]), RATE_HZ) is None


def test_bar_one_begins_after_a_count_in_of_whole_bars():
    beats = click_beats(row(4), [Note("n1", 2.9, 3.2, 60)])
    assert beats.source == "click"
    assert beats.starts_bar
    assert abs(beats.times_s[0] - 2.9) < 1e-9
    assert len(beats.times_s) == 4
    assert not click_beats(row(5), [Note("n1", 3.5, 3.8, 60)], bar_beats=4).starts_bar


def test_bar_one_begins_after_the_counts_with_a_pickup_or_with_soft_playing_that_leaves_clicks_alone():
    assert click_beats(row(4), [Note("n1", 2.0, 2.8, 60)]).times_s[0] == pytest.approx(2.9)
    beats = click_beats(row(12), [Note("n1", 2.9, 3.2, 60)])
    assert beats.starts_bar
    assert beats.times_s[0] == pytest.approx(2.9)


def test_three_counts_are_a_bar_only_where_the_metre_says_so():
    notes = [Note("n1", 2.3, 2.8, 60)]
    assert not click_beats(row(12, 3), notes).starts_bar
    assert click_beats(row(12, 3), notes, bar_beats=3).times_s[0] == pytest.approx(2.3)


def test_playing_before_the_clicks_was_not_counted_in():
    beats = click_beats(row(8), [Note("n1", 0.1, 0.4, 60)])
    assert not beats.starts_bar
    assert beats.times_s == row(8).times_s


def test_clicks_heard_as_notes_are_left_out():
    heard = [Note(f"c{k}", time, time + 0.05, 95) for k, time in enumerate(row(4).times_s)]
    played = [Note("n1", 2.9, 3.2, 60), Note("n2", 3.2, 3.8, 62)]
    assert without_clicks([*heard, *played], row(4)) == tuple(played)


def test_dead_notes_are_left_out_where_a_click_is_heard_and_stay_where_none_is():
    clicks_ = Clicks((0.5, 1.1, 1.7, 2.3, 2.9, 3.5), (True, True, True, True, False, True), 4)
    at_click = Note("x1", 3.5, 3.75, 60, mute="dead")
    drowned = Note("x2", 2.9, 3.1, 60, mute="dead")
    between = Note("x3", 3.2, 3.4, 60, mute="dead")
    real = Note("n1", 3.5, 3.9, 64)
    assert without_clicks([drowned, between, at_click, real], clicks_) == (drowned, between, real)


def test_short_notes_of_a_riff_on_one_pitch_are_no_clicks():
    """Sixteenths on one string over a click: those on the beat stay."""
    riff = [Note(f"n{k}", 0.5 + k * BEAT_S / 4, 0.5 + k * BEAT_S / 4 + 0.14, 40) for k in range(32)]
    assert without_clicks(riff, row(8, 0)) == tuple(riff)


def test_a_sound_cut_and_begun_again_every_second_is_no_click():
    t = np.arange(8000) / 8000
    once = sum(np.sin(2 * np.pi * 150 * k * t) / k for k in range(1, 8)) * np.exp(-1.5 * t)
    found = heard_clicks(0.3 * np.tile(once, 120), 8000)
    assert found is None or 0.2 <= found.click_s <= 1.6
