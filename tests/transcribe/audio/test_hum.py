"""Hum of a known frequency under plucked notes: taken out, the notes left as they were."""

from __future__ import annotations

import numpy as np
import pytest

from tests.signals import hz, placed, plucked, steady
from transcribe.audio.hum import find_hum, remove_rumble
from transcribe.settings import AudioSettings

RATE_HZ = 22050
SETTINGS = AudioSettings()


def lick(pitches_hz: tuple[float, ...], seconds_each: float = 0.6) -> np.ndarray:
    """Notes with half a second of rest before, between every two, and after; a hiss 80 dB down."""
    step_s = seconds_each + 0.5
    notes = [(0.5 + step_s * k, plucked(steady(f, seconds_each), decay_s=2.0)) for k, f in enumerate(pitches_hz)]
    sound = placed(*notes, seconds=0.5 + step_s * len(pitches_hz))
    return sound + 1e-4 * np.random.default_rng(2).standard_normal(sound.size)


def mains(n: int, mains_hz: float, level: float) -> np.ndarray:
    t = np.arange(n) / RATE_HZ
    return sum(level / k * np.sin(2 * np.pi * mains_hz * k * t + k) for k in range(1, 6))  # type: ignore[return-value]


def level_db(sound: np.ndarray) -> float:
    return float(10 * np.log10(np.mean(np.square(sound)) + 1e-20))


NOTES_HZ = tuple(hz(m) for m in (45, 52, 57, 60, 43))


@pytest.mark.parametrize("mains_hz", [49.95, 50.0, 59.97, 60.04])
@pytest.mark.parametrize("level", [0.003, 0.03])
def test_hum_is_taken_out_and_the_notes_stay(mains_hz: float, level: float) -> None:
    sound = lick(NOTES_HZ)
    hum = mains(sound.size, mains_hz, level)
    found = find_hum((sound + hum).astype(np.float32), RATE_HZ, settings=SETTINGS)
    assert found is not None
    assert found.mains_hz == round(mains_hz, -1)
    left = sound + hum - found.samples - sound
    assert level_db(left) < level_db(hum) - 6
    assert level_db(left) < level_db(sound) - 20


def test_no_hum_is_found_where_there_is_none() -> None:
    assert find_hum(lick(NOTES_HZ).astype(np.float32), RATE_HZ, settings=SETTINGS) is None


def test_notes_on_the_overtones_of_the_mains_are_not_hum() -> None:
    """A guitar tuned a third of a semitone sharp plays G at 100 Hz, the second partial of the mains."""
    sound = lick((100.0, 150.0, 200.0, 100.0, 250.0))
    assert find_hum(sound.astype(np.float32), RATE_HZ, settings=SETTINGS) is None


def test_a_ringing_note_at_an_overtone_survives_the_hum_under_it() -> None:
    sound = lick((100.0, 100.0, 100.0), seconds_each=2.0)
    hum = mains(sound.size, 50.0, 0.01)
    found = find_hum((sound + hum).astype(np.float32), RATE_HZ, settings=SETTINGS)
    assert found is not None
    assert level_db(sound + hum - found.samples - sound) < level_db(sound) - 20


def test_a_take_too_short_to_tell_is_left_alone() -> None:
    t = np.arange(RATE_HZ) / RATE_HZ
    assert find_hum((0.1 * np.sin(2 * np.pi * 50 * t)).astype(np.float32), RATE_HZ, settings=SETTINGS) is None


def test_rumble_goes_and_the_low_string_stays_in_time() -> None:
    sound = lick((hz(36), hz(40)))  # the low C of a dropped tuning, and the low E
    t = np.arange(sound.size) / RATE_HZ
    rumble = 0.2 * np.sin(2 * np.pi * 12 * t)
    calm = remove_rumble((sound + rumble).astype(np.float32), RATE_HZ, settings=SETTINGS)
    assert calm is not None
    inner = slice(RATE_HZ // 4, -RATE_HZ // 4)
    assert level_db((calm - sound)[inner]) < level_db(rumble) - 20
    lags = range(-20, 21)
    match = [float(np.dot(calm[inner], np.roll(sound, lag)[inner])) for lag in lags]
    assert lags[int(np.argmax(match))] == 0


def test_an_ordinary_take_is_not_filtered() -> None:
    assert remove_rumble(lick(NOTES_HZ).astype(np.float32), RATE_HZ, settings=SETTINGS) is None
