"""Level and onset novelty on sounds whose attacks are known."""

import numpy as np
import pytest

from tests.signals import RATE_HZ, bend, glide, hz, in_noise, placed, plucked, recording, steady, tone, vibrato
from transcribe.evidence.features import band_matrix, frame_count, level_db, novelty_db, onset_map
from transcribe.settings import EvidenceSettings

SETTINGS = EvidenceSettings()
HOP_S = 0.01
CLEAR = 0.25  # an onset this strong is a pick on every fixture


def onset(samples, rate_hz=RATE_HZ):
    return onset_map(recording(samples, rate_hz), SETTINGS, hop_s=HOP_S)[:, 0]


def peaks_s(strength, threshold=CLEAR):
    inner = strength[1:-1]
    at = np.flatnonzero((inner >= strength[:-2]) & (inner > strength[2:]) & (inner >= threshold)) + 1
    return at * HOP_S


def pick(level=1.0, seed=0):
    """The click of a pick: 3 ms of noise."""
    return 0.05 * level * np.random.default_rng(seed).standard_normal(66) * np.hanning(66)


def picked(midi, seconds, level=0.5, seed=0):
    sound = plucked(steady(hz(midi), seconds), level=level, phase_seed=seed)
    sound[:66] += pick(level, seed)
    sound[-220:] *= np.linspace(1.0, 0.0, 220)  # stopped over 10 ms, or its end would click
    return sound


def test_level_of_a_sine_is_3_db_below_its_peak():
    level = level_db(recording(tone(steady(1000.0, 1.0), level=1.0)), hop_s=HOP_S)
    assert level.shape == (101,)
    assert np.abs(level[5:95] + 3.01).max() < 0.2
    assert np.abs(level_db(recording(tone(steady(1000.0, 1.0), level=0.1)), hop_s=HOP_S)[5:95] + 23.01).max() < 0.2


def test_silence_is_120_db_below_full_scale():
    assert level_db(recording(np.zeros(2205)), hop_s=HOP_S).tolist() == [-120.0] * 11


def test_each_band_weighs_one_and_lies_above_the_last():
    bands = band_matrix(1024, 24000, lowest_hz=60, highest_hz=10000, per_octave=24)
    assert np.allclose(bands.sum(axis=0), 1.0)
    assert np.all(np.diff(bands.argmax(axis=0)) > 0)
    top = bands.argmax(axis=0)[-20:] * 24000 / 1024
    assert np.abs(12 * np.log2(top[1:] / top[:-1]) - 0.5).max() < 0.1  # 24 an octave is a quarter tone apart


@pytest.mark.parametrize("midi", [40, 50, 64, 76])
def test_picked_notes_are_found_within_10_ms(midi):
    times = [0.3, 0.55, 0.8, 1.2]
    sound = placed(*((t, picked(midi + k, 0.25, seed=k)) for k, t in enumerate(times)), seconds=1.6)
    found = peaks_s(onset(in_noise(sound, 50)))
    assert found.size == len(times)
    assert np.abs(found - times).max() <= 0.0101


@pytest.mark.parametrize("midi", [40, 52, 64])
def test_the_same_pitch_picked_again_softer_while_it_rings(midi):
    sound = placed((0.2, picked(midi, 1.5)), (0.7, picked(midi, 1.0, level=0.15, seed=3)), seconds=1.5)
    found = peaks_s(onset(in_noise(sound, 50)), threshold=0.15)
    assert found.size == 2
    assert np.abs(found - [0.2, 0.7]).max() <= 0.0201


@pytest.mark.parametrize(
    "pitch_hz",
    [
        bend(hz(62), 200, 1.5, start_s=0.5, reach_s=0.65),
        bend(hz(67), 300, 1.5, start_s=0.5, reach_s=0.65),
        vibrato(hz(64), 40, 6, 1.5),
        glide(hz(50), hz(57), 1.5),
    ],
)
def test_bends_vibrato_and_slides_are_no_picks(pitch_hz):
    strength = onset(in_noise(placed((0.2, plucked(pitch_hz)), seconds=1.6), 50))
    assert np.abs(peaks_s(strength) - 0.2).max() <= 0.0101
    assert strength[26:].max() < 0.1


@pytest.mark.parametrize("midi", [40, 52, 64])
def test_a_ringing_note_cut_off_by_the_end_of_the_take_is_no_pick(midi):
    assert onset(plucked(steady(hz(midi), 1.009)))[5:].max() < 0.05


def test_louder_takes_have_the_same_onsets():
    sound = in_noise(placed((0.3, picked(52, 0.5)), (0.8, picked(55, 0.5)), seconds=1.5), 60)
    assert np.array_equal(peaks_s(onset(sound)), peaks_s(onset(0.5 * sound)))


def test_a_long_take_is_the_same_in_pieces():
    sound = np.tile(
        placed((0.1, picked(52, 0.9)), (0.5, picked(59, 0.5)), seconds=1.0), 45
    )  # a note rings over each second
    novelty = novelty_db(recording(sound), SETTINGS)
    seconds = novelty[:-1].reshape(45, 200)
    assert seconds[1].max() > 5
    assert np.abs(seconds[2:44] - seconds[1]).max() < 0.05  # the border of a piece, at 20 and 40 s, cannot be seen


@pytest.mark.parametrize("samples", [1, 100, 500, 5000])
def test_very_short_takes(samples):
    sound = recording(0.1 * np.ones(samples))
    strength = onset_map(sound, SETTINGS, hop_s=HOP_S)
    assert strength.shape == (frame_count(sound, HOP_S), 1)
    assert np.all((strength >= 0) & (strength <= 1))


def test_second_opinion_librosa_superflux_finds_the_same_picks():
    """librosa's own flux with the maximum filter of the SuperFlux paper (its documented recipe), on the same line."""
    import librosa

    times = [0.25, 0.5, 0.75, 1.0, 1.5]
    sound = in_noise(
        placed(
            *((t, picked(m, 0.6, seed=k)) for k, (t, m) in enumerate(zip(times, [52, 55, 57, 57, 60], strict=True))),
            seconds=2.0,
        ),
        50,
    )
    mel = librosa.feature.melspectrogram(
        y=sound.astype(np.float32), sr=RATE_HZ, n_fft=1024, hop_length=110, fmin=27.5, fmax=10000.0, n_mels=138
    )
    flux = librosa.onset.onset_strength(
        S=librosa.power_to_db(mel, ref=np.max), sr=RATE_HZ, hop_length=110, lag=2, max_size=3, center=False
    )
    theirs = [t for t in times if flux[round((t - 0.02) * 200) : round((t + 0.02) * 200) + 1].max() > 4 * flux.mean()]
    ours = peaks_s(onset(sound))
    assert theirs == times
    assert ours.size == len(times)
    assert np.abs(ours - theirs).max() <= 0.0101
