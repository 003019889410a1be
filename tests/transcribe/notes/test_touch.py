"""Picked, or hammered and pulled off: what the maps and the level of the sound say at a note's start."""

import numpy as np
import pytest

from transcribe.audio.recording import Recording
from transcribe.notes.attack import envelope
from transcribe.notes.touch import TouchMaps, finger_likelihood, harmonic_likelihood, may_pass_on, palm_likelihood

RATE_HZ, ONSET_S, HOP_S = 22050, 0.5, 256 / 22050


def _maps(picked: float, legato: float, palm: float = 0.0) -> TouchMaps:
    frame = round(ONSET_S / HOP_S)
    maps = np.zeros((4, 100, 56), np.uint8)
    maps[2, frame, 64 - 36] = round(255 * palm)
    maps[2, frame + 2 :, 64 - 36] = 255  # past the pick the map says nothing
    maps[0, frame, 64 - 36], maps[1, frame, 64 - 36] = round(255 * picked), round(255 * legato)
    return TouchMaps(0.0, HOP_S, 36, *maps)


def _sound(rise_db: float) -> Recording:
    t = np.arange(RATE_HZ) / RATE_HZ
    level = np.where(t < ONSET_S, 10 ** (-rise_db / 20), np.exp(-2.0 * (t - ONSET_S)))
    return Recording((0.2 * level * np.sin(2 * np.pi * 330 * t)).astype(np.float32), RATE_HZ, 0.0)


def _finger(picked: float, legato: float, rise_db: float = 0.0, *, together: bool = False) -> float:
    return finger_likelihood(_maps(picked, legato), envelope(_sound(rise_db)), ONSET_S, 64.0, together=together)


def test_the_maps_tell_pick_from_finger():
    assert _finger(0.02, 0.95) > 0.8
    assert _finger(0.95, 0.05) < 0.05


def test_a_sound_that_swells_speaks_for_a_pick_where_the_maps_are_divided():
    assert _finger(0.2, 0.8, rise_db=0.0) > _finger(0.2, 0.8, rise_db=7.0) + 0.1


def test_where_strings_begin_together_the_level_tells_nothing():
    assert _finger(0.2, 0.8, 0.0, together=True) == pytest.approx(_finger(0.2, 0.8, 12.0, together=True))


def test_a_finger_goes_on_at_once_and_within_its_reach():
    assert may_pass_on(64, 1.00, 67, 1.03)
    assert not may_pass_on(64, 1.00, 64, 1.03)  # the same pitch is struck again
    assert not may_pass_on(64, 1.00, 67, 1.20)  # the string was silent
    assert not may_pass_on(64, 1.00, 76, 1.03)  # an octave up the neck


def test_the_palm_is_looked_for_where_the_pick_is():
    assert palm_likelihood(_maps(0.9, 0.0, palm=0.95), ONSET_S, 64.0) == pytest.approx(0.95, abs=0.01)
    assert palm_likelihood(_maps(0.9, 0.0, palm=0.05), ONSET_S, 64.2) == pytest.approx(0.05, abs=0.01)
    assert palm_likelihood(_maps(0.0, 0.0), ONSET_S, 64.0) == 0.0


def _bell(**frames):
    """Maps of a picked note whose harmonic map holds 255 in some frames about the onset."""
    maps = _maps(0.9, 0.0, palm=frames.pop("palm", 0.0))
    frame = round(ONSET_S / HOP_S)
    maps.harmonic[frame + frames["first"] : frame + frames["last"] + 1, frames.get("row", 64 - 36)] = 255
    return maps


def test_a_harmonic_is_looked_for_where_the_pick_is():
    assert harmonic_likelihood(_bell(first=-2, last=8), ONSET_S, 64.0) == pytest.approx(0.9, abs=0.01)  # as the pick
    assert harmonic_likelihood(_bell(first=-2, last=8, row=64 - 36 + 1), ONSET_S, 64.0) == 0.0  # another pitch
    assert harmonic_likelihood(_maps(0.0, 0.9), ONSET_S, 64.0) == 0.0


def test_a_harmonic_may_come_out_late_but_not_for_a_moment():
    late, moment = _bell(first=2, last=8), _bell(first=0, last=0)
    assert harmonic_likelihood(late, ONSET_S, 64.0) > 0.8
    assert harmonic_likelihood(moment, ONSET_S, 64.0) == pytest.approx(0.5, abs=0.05)


def test_where_a_harmonic_rings_no_palm_lies():
    assert palm_likelihood(_bell(first=8, last=9, palm=0.95), ONSET_S, 64.0) == pytest.approx(0.95, abs=0.01)
    assert palm_likelihood(_bell(first=1, last=3, palm=0.95), ONSET_S, 64.0) == 0.0


def test_at_the_very_end_of_a_take_nothing_is_a_harmonic():
    maps = _maps(0.9, 0.0)
    maps.harmonic[:] = 255
    assert harmonic_likelihood(maps, 60.0, 64.0) == 0.0
