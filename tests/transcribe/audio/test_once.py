"""What is asked of the same recording twice is measured once."""

import gc
import weakref
from concurrent.futures import ThreadPoolExecutor
from time import sleep

import numpy as np
import pytest

from tests.signals import RATE_HZ, plucked, recording, steady
from transcribe.audio.once import once, resampled
from transcribe.notes.attack import envelope


def counted():
    asked = []

    @once
    def loudest(sound, factor=1.0, *, floor=0.0):
        asked.append((sound, factor, floor))
        sleep(0.01)
        return max(floor, factor * float(np.abs(sound.samples).max()))

    return loudest, asked


def test_an_answer_is_kept_for_the_recording_and_what_was_asked():
    first, second = (recording(plucked(steady(220.0, 0.1), level=level)) for level in (0.5, 0.25))
    loudest, asked = counted()
    assert loudest(first) == loudest(first) > loudest(second)
    assert len(asked) == 2
    assert loudest(first, 2.0) == 2 * loudest(first)
    assert loudest(first, floor=9.0) == 9.0
    assert len(asked) == 4


def test_two_threads_that_ask_at_once_share_one_answer():
    sound, (loudest, asked) = recording(plucked(steady(220.0, 0.1))), counted()
    with ThreadPoolExecutor(2) as pool:
        told = list(pool.map(loudest, [sound, sound]))
    assert told[0] == told[1]
    assert len(asked) == 1


def test_nobody_writes_into_a_kept_answer():
    half = resampled(recording(plucked(steady(220.0, 0.1))), RATE_HZ // 2)
    with pytest.raises(ValueError, match="read-only"):
        half *= 2.0


def test_nobody_writes_into_the_levels_of_a_kept_envelope():
    loudness = envelope(recording(plucked(steady(220.0, 0.2))))
    for level in (loudness.all_db, loudness.high_db, loudness.span(loudness.all_db, 0.0, 0.1)):
        with pytest.raises(ValueError, match="read-only"):
            level -= 6.0


def test_nothing_keeps_a_recording_alive():
    sound = recording(plucked(steady(220.0, 0.1)))
    resampled(sound, RATE_HZ // 2)
    there = weakref.ref(sound)
    del sound
    gc.collect()
    assert there() is None


def test_a_tone_keeps_its_pitch_at_another_rate():
    sound = recording(plucked(steady(441.0, 1.0), partials=1))
    half = resampled(sound, 11025)
    assert half.size == 11025
    assert np.abs(np.fft.rfft(half)).argmax() == 441
