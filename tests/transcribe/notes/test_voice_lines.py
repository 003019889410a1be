"""The pitch of a bent string under a held one, from the partials that are free of the other's."""

import tracemalloc

import numpy as np

from tests.signals import hz
from transcribe.audio.recording import Recording
from transcribe.evidence.refine import free_partials, read_pitch, refine_pitch
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.beside import beside_each
from transcribe.notes.voice_lines import _frames_to, lines_of_voices
from transcribe.notes.voices import Voice
from transcribe.settings import EvidenceSettings, Settings

RATE_HZ = 22050
SETTINGS = EvidenceSettings()


def _string(midi: np.ndarray, partials: int = 12) -> np.ndarray:
    """A stiff string at a moving pitch, partials falling by 1/n."""
    n = np.arange(1, partials + 1)[:, None]
    stretched = n * np.sqrt(1 + 4e-5 * n * n)
    turns = np.cumsum(hz(midi)) / RATE_HZ
    return np.sum(np.sin(2 * np.pi * stretched * turns) / n, axis=0)


def _bend_under(held_midi: float, from_midi: float, cents: float) -> tuple[Recording, np.ndarray, np.ndarray]:
    t = np.arange(int(1.4 * RATE_HZ)) / RATE_HZ
    bent = from_midi + cents / 100 * (0.5 - 0.5 * np.cos(np.pi * np.clip((t - 0.4) / 0.2, 0, 1)))
    sound = 0.1 * _string(bent) + 0.15 * _string(np.full(t.size, held_midi))
    times = np.arange(0.2, 1.2, 256 / RATE_HZ)
    return Recording(sound.astype(np.float32), RATE_HZ, 0.0), times, np.interp(times, t, bent)


def test_a_bend_under_a_held_string_is_read_within_two_cents():
    for held, start, cents in ((72.0, 67.0, 200.0), (67.0, 62.0, 187.0), (64.0, 59.0, 104.0)):
        recording, times, truth = _bend_under(held, start, cents)
        rough = truth + 0.12 * np.sin(9 * times)  # a map is right to a tenth of a semitone or so
        told = read_pitch(recording, times, rough, SETTINGS, others_midi=np.full((times.size, 1), held)).midi
        arrived = times > 0.75
        assert np.isfinite(told[arrived]).mean() > 0.9
        assert np.nanmax(np.abs(100 * (told - truth)[arrived])) < 2.0, (held, start)


def test_partials_that_meet_the_others_lead_astray_when_they_are_not_left_out():
    recording, times, truth = _bend_under(72.0, 67.0, 200.0)
    late = times > 0.75

    def miss(told: np.ndarray) -> float:
        return float(np.nanmedian(np.abs(100 * (told - truth)[late])))

    told = read_pitch(recording, times, truth + 0.1, SETTINGS, others_midi=np.full((times.size, 1), 72.0)).midi
    alone = refine_pitch(recording, times, truth + 0.1, SETTINGS)
    lost = ~np.isfinite(alone[late])
    assert miss(told) < 1.0
    assert lost.mean() > 0.5 or miss(alone) > 2 * miss(told)


def test_a_string_in_unison_with_another_has_no_free_partial():
    told = free_partials(np.array([220.0]), np.array([[57.0]]), partials=12, reach_hz=np.array([25.0]))
    assert not told.any()


def test_a_fifth_above_loses_every_other_partial():
    told = free_partials(np.array([330.0]), np.array([[57.0]]), partials=6, reach_hz=np.array([15.0]))
    assert told.tolist() == [[True, False, True, False, True, False]]


def test_two_strings_in_unison_leave_the_pitch_untold():
    recording, times, truth = _bend_under(69.0, 67.0, 200.0)
    told = read_pitch(recording, times, truth, SETTINGS, others_midi=np.full((times.size, 1), 69.0)).midi
    assert not np.isfinite(told[times > 0.75]).any()


def test_what_the_partials_told_fades_where_they_say_no_more():
    """A string a tenth of a semitone above the map's pitch dies away: the map's own pitch stands again."""
    hop_s = 256 / RATE_HZ
    sounds = (np.arange(int(1.6 * RATE_HZ)) / RATE_HZ < 0.7).astype(float)
    recording = Recording((0.2 * sounds * _string(np.full(sounds.size, 57.1))).astype(np.float32), RATE_HZ, 0.0)
    count = int(1.4 / hop_s)
    flat = np.ones(count)
    held = Voice(0.0, 0, 57.0 * flat, flat, "picked", 0.9, np.full(6, 1 / 6), 0.0)
    (line,) = lines_of_voices(recording, _empty_maps(count, hop_s), (held,), beside_each((held,)), Settings())
    assert np.abs(line.midi[5 : int(0.5 / hop_s)] - 57.1).max() < 0.02
    assert np.abs(line.midi[int(1.2 / hop_s) :] - 57.0).max() < 0.01


def _empty_maps(count: int, hop_s: float) -> VoiceMaps:
    pitches = np.zeros((count, 56), np.uint8)
    contour, strings = np.zeros((count, 168), np.uint8), np.zeros((count, 56, 6), np.uint8)
    return VoiceMaps(
        0.0, hop_s, 36, 3, contour, contour.astype(np.int8), pitches, pitches, pitches, strings, pitches, pitches,
        np.zeros(count, np.float32),
    )  # fmt: skip


def test_the_nearest_frame_of_a_long_held_note_is_found_without_its_square():
    known = np.array([3, 4, 9, 4000])
    assert _frames_to(known, np.arange(12)).tolist() == [3, 2, 1, 0, 0, 1, 2, 2, 1, 0, 1, 2]
    frames = np.arange(10_000)  # two minutes
    tracemalloc.start()
    away = _frames_to(frames[::2], frames)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert away.tolist() == [0, 1] * 5000
    assert peak < 20 * frames.nbytes
