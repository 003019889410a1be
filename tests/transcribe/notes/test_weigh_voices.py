"""What speaks for a note of several: its own partials, its neighbours, what the maps say."""

import numpy as np
import pytest

from tests.signals import hz, placed, plucked, recording, steady
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.attack import envelope
from transcribe.notes.voices import Voice
from transcribe.notes.weigh_voices import grounds_of_voices, partials_db

HOP_S, LOWEST, PITCHES = 256 / 22050, 36, 56


def voice(onset_s, midi, length_s=0.5, **changed):
    frames = round(length_s / HOP_S)
    flat = np.ones(frames)
    told = {"begin": "picked", "sure": 0.9, "string": np.full(6, 1 / 6), "palm": 0.0} | changed
    return Voice(onset_s=onset_s, first=round(onset_s / HOP_S), midi=midi * flat, contour=0.9 * flat, **told)


def empty_maps(seconds=3.0):
    frames = round(seconds / HOP_S)
    plain = np.zeros((frames, PITCHES), np.uint8)
    fine = np.zeros((frames, 3 * PITCHES), np.uint8)
    return VoiceMaps(
        0.0, HOP_S, LOWEST, 3, fine, fine.astype(np.int8), plain, plain.copy(), plain.copy(),
        np.zeros((frames, PITCHES, 6), np.uint8), plain.copy(), plain.copy(), np.zeros(frames, np.float32),
    )  # fmt: skip


def grounds(voices, *sounding, seconds=3.0):
    """Grounds of the voices while (onset, pitch, level) sound."""
    parts = [(at_s, plucked(steady(hz(midi), 1.2), level=level)) for at_s, midi, level in sounding]
    sound = recording(placed(*parts, seconds=seconds) + 1e-5 * np.random.default_rng(0).standard_normal(66150))
    return grounds_of_voices(sound, empty_maps(seconds), tuple(voices), envelope(sound))


def test_power_at_the_partials_is_that_of_the_tone():
    """A sine of amplitude a has the power a squared by two: -9 dB for a half, of which a narrow band keeps most."""
    tone = recording(0.5 * np.sin(2 * np.pi * 220 * np.arange(22050) / 22050))
    before, middle, last, after = partials_db(tone, np.array([-0.2, 0.5, 0.98, 5.0]), 220.0)
    assert middle == pytest.approx(-9.0, abs=1.5)
    assert last == pytest.approx(middle, abs=1.5), "of a window that the sound does not fill, what it fills"
    assert before == after == -120.0
    assert partials_db(tone, np.array([0.5]), 290.0) < -50


def test_a_struck_note_grows_at_its_own_partials_and_another_does_not():
    struck, other = grounds([voice(0.5, 57), voice(1.0, 64)], (0.5, 57, 0.4))
    assert struck.rise_db > 25
    assert other.rise_db < 6


def test_a_softer_note_over_a_sounding_one_may_be_its_overtone():
    low, high = grounds([voice(0.5, 45), voice(0.53, 64)], (0.5, 45, 0.5))  # an octave and a fifth: the third partial
    assert high.under > 0.8
    assert low.above > 0.3
    assert low.under == 0.0


def test_the_same_pitch_before_is_remembered():
    first, again, later = grounds(
        [voice(0.5, 57, 0.4), voice(0.95, 57, 0.4), voice(2.4, 57, 0.3)], (0.5, 57, 0.4), (0.95, 57, 0.1)
    )
    assert first.since_same_s == 1.0
    assert first.gap_same_s == 1.0
    assert again.since_same_s == pytest.approx(0.45, abs=0.01)
    assert again.gap_same_s == pytest.approx(0.05, abs=0.02)
    assert again.repeats_db > 3
    assert later.since_same_s == 1.0


def test_a_pitch_that_answers_every_pluck_is_a_habit():
    melody = [voice(0.3 + 0.4 * k, midi) for k, midi in enumerate((60, 62, 64, 65, 67))]
    body = [voice(0.3 + 0.4 * k, 43) for k in range(5)]
    told = grounds(melody + body, (0.3, 60, 0.4))
    assert all(each.habit == pytest.approx(1.0) for each in told[5:])
    assert max(each.habit for each in told[:5]) == 0.0


def test_names_of_all_grounds_are_told():
    (only,) = grounds([voice(0.5, 57)], (0.5, 57, 0.4))
    values = only.values()
    assert values["together"] == 1.0
    assert values["sure"] == 0.9
    assert values["length_s"] == pytest.approx(0.5, abs=0.02)
    assert all(np.isfinite(value) for value in values.values())
