"""A click told from the playing around it."""

import numpy as np

from tests.signals import RATE_HZ, hz, placed, plucked, steady, tone
from transcribe.notes.note import Note
from transcribe.rhythm.clicks import Clicks, click_beats, heard_clicks, without_clicks

BEAT_S = 0.6


def click(pitch_hz=1600.0):
    length = int(0.03 * RATE_HZ)
    return tone(steady(pitch_hz, 0.03), level=0.4)[:length] * np.exp(-np.arange(length) / (0.006 * RATE_HZ))


def line(first_s, count=8, step_s=BEAT_S / 2):
    return [
        (first_s + k * step_s + 0.004 * (-1) ** k, plucked(steady(hz(57 + k % 5), step_s * 0.9))) for k in range(count)
    ]


def take(*events):
    return placed(*events, seconds=9.0)


def test_a_count_in_before_the_playing_is_heard():
    counted = [(0.5 + k * BEAT_S, click(2000 if k == 0 else 1600)) for k in range(4)]
    found = heard_clicks(take(*counted, *line(0.5 + 4 * BEAT_S)), RATE_HZ)
    assert found is not None
    assert found.counted_in
    assert len(found.times_s) == 4
    assert abs(found.click_s - BEAT_S) < 0.003
    assert abs(found.times_s[0] - 0.5) < 0.02


def test_playing_alone_holds_no_click():
    assert heard_clicks(take(*line(0.5, 24)), RATE_HZ) is None
    assert heard_clicks(np.zeros(5 * RATE_HZ), RATE_HZ) is None
    assert heard_clicks(np.zeros(10), RATE_HZ) is None


def test_bar_one_begins_after_a_count_in_of_whole_bars():
    clicks = Clicks((0.5, 1.1, 1.7, 2.3), True)
    beats = click_beats(clicks, [Note("n1", 2.9, 3.2, 60)])
    assert beats.source == "click"
    assert beats.starts_bar
    assert abs(beats.times_s[0] - 2.9) < 1e-9
    assert not click_beats(Clicks((0.5, 1.1, 1.7, 2.3, 2.9), True), [Note("n1", 3.5, 3.8, 60)], bar_beats=4).starts_bar


def test_clicks_heard_as_notes_are_left_out():
    clicks = Clicks((0.5, 1.1, 1.7, 2.3), True)
    heard = [Note(f"c{k}", time, time + 0.05, 95) for k, time in enumerate(clicks.times_s)]
    played = [Note("n1", 2.9, 3.2, 60), Note("n2", 3.2, 3.8, 62)]
    assert without_clicks([*heard, *played], clicks) == tuple(played)


def test_a_sound_cut_and_begun_again_every_second_is_no_click():
    t = np.arange(8000) / 8000
    once = sum(np.sin(2 * np.pi * 150 * k * t) / k for k in range(1, 8)) * np.exp(-1.5 * t)
    found = heard_clicks(0.3 * np.tile(once, 120), 8000)
    assert found is None or 0.2 <= found.click_s <= 1.6
