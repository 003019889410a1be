"""The shipped several-voices network: small, bounded, the same in chunks, and right on strings made by formula."""

from importlib.resources import files

import numpy as np
import pytest

from transcribe.audio.recording import Recording
from transcribe.evidence.harmonic_spectrum import CHANNELS, PITCHES
from transcribe.evidence.network import CHUNK_FRAMES, WEIGHTS, _answers, voice_maps
from transcribe.evidence.voice_maps import shares
from transcribe.notes.voices import find_voices

RATE_HZ = 22050


def plucked(midi, at_s, total_s, *, loud=0.2):
    """Return a string by formula: harmonics that fall as 1/n and die faster the higher they are."""
    t = np.arange(int(total_s * RATE_HZ)) / RATE_HZ - at_s
    f0 = 440 * 2 ** ((midi - 69) / 12)
    on = t >= 0
    tone = sum(np.sin(2 * np.pi * n * f0 * t) / n * np.exp(-(1 + 0.4 * n) * t * on) for n in range(1, 16))
    noise = np.random.default_rng(int(midi)).standard_normal(t.size) * np.exp(-np.abs(t) / 0.004)
    return (loud * on * (tone + 0.2 * noise)).astype(np.float32)


def test_the_weights_are_small():
    assert len(files("transcribe.evidence.weights").joinpath(WEIGHTS).read_bytes()) < 5e6


@pytest.mark.parametrize("chord", [(52,), (48, 64), (45, 52, 57), (55, 59, 67)])
def test_strings_sounding_together_are_all_found(chord):
    sound = sum(plucked(midi, 0.4 + 0.01 * k, 2.0) for k, midi in enumerate(chord))
    voices = find_voices(voice_maps(Recording(sound, RATE_HZ)))
    assert sorted(round(float(np.median(v.midi))) for v in voices) == sorted(chord)
    for voice in voices:
        assert abs(voice.onset_s - 0.4) < 0.05
        assert abs(np.median(voice.midi) - round(float(np.median(voice.midi)))) < 0.1


def test_a_long_take_reads_as_its_parts_do():
    once = sum(plucked(midi, at_s, 7.0) for midi, at_s in ((50, 0.5), (57, 2.5), (62, 4.0), (66, 5.9)))
    maps = voice_maps(Recording(np.tile(once, 3), RATE_HZ))
    period = once.size / 256
    first = shares(maps.contour[40:560])
    again = shares(maps.contour[40 + round(period) :][:520])
    assert maps.n_frames == once.size * 3 // 256 + 1
    assert np.mean(np.abs(first - again) > 0.3) < 0.002


@pytest.mark.parametrize("level", [0.0, 1e-4])
def test_silence_and_faint_hiss_have_no_notes(level):
    hiss = level * np.random.default_rng(0).standard_normal(3 * RATE_HZ)
    assert find_voices(voice_maps(Recording(hiss.astype(np.float32), RATE_HZ))) == ()


def test_a_take_heard_in_two_pieces_reads_the_same_wherever_they_meet():
    sound = sum(plucked(midi, at_s, 8.0) for midi, at_s in ((50, 0.5), (57, 2.5), (62, 5.5)))
    later = np.concatenate((np.zeros(100 * 256, np.float32), sound))
    here, there = (voice_maps(Recording(each, RATE_HZ)) for each in (sound, later))
    for name in ("contour", "picked", "held"):
        apart = np.abs(getattr(here, name).astype(int)[40:] - getattr(there, name)[140 : here.n_frames + 100])
        assert np.mean(apart > 12) < 0.002, name


@pytest.mark.parametrize("count", [1, 440, 441, 480, 492, 519, 520, 960, 1500])
def test_every_frame_is_answered_once_and_in_order(count):
    numbered = np.arange(1, count + 1, dtype=np.float32)[:, None, None] * np.ones((1, PITCHES, CHANNELS), np.float32)
    shapes = set()

    def answer(frames):
        shapes.add(frames.shape)
        return frames[:, :, :1].copy()

    blocks = (numbered[k : k + 32] for k in range(0, count, 32))
    answers = np.concatenate(list(_answers(blocks, count, answer)))
    assert (answers[:, 0, 0] == numbered[:, 0, 0]).all()
    assert shapes == {(CHUNK_FRAMES, PITCHES, CHANNELS)}
