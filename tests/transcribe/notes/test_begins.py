"""Where notes begin: peaks of hand-drawn maps, and plucked strings weighed by the shipped numbers."""

import numpy as np
import pytest

from tests.signals import hz, placed, plucked, recording, steady
from transcribe.evidence.network import voice_maps
from transcribe.evidence.voice_maps import VoiceMaps, stored
from transcribe.notes.begins import begin_features, judged_begins, possible_begins, probability, top_between
from transcribe.settings import NoteSettings

LOWEST = 36


def maps_with(*peaks, frames=60, pitches=56):
    """Each peak: (frame, MIDI pitch, height, "picked" or "legato"); nothing else is heard."""
    onsets = {kind: np.zeros((frames, pitches)) for kind in ("picked", "legato")}
    for frame, midi, height, kind in peaks:
        bump = height * np.exp(-0.5 * ((np.arange(frames) - frame) / 0.8) ** 2)
        onsets[kind][:, midi - LOWEST] = np.maximum(onsets[kind][:, midi - LOWEST], bump)
    zero = np.zeros((frames, pitches), np.uint8)
    contour, string = np.zeros((frames, 3 * pitches), np.uint8), np.zeros((frames, pitches, 6), np.uint8)
    picked, legato = stored(onsets["picked"]), stored(onsets["legato"])
    offset, level = contour.astype(np.int8), np.zeros(frames, np.float32)
    return VoiceMaps(0.0, 0.0116, LOWEST, 3, contour, offset, picked, legato, zero, string, zero, zero, level)


def places(begins):
    return [(begin.frame, begin.row + LOWEST, begin.kind) for begin in begins]


def test_low_peaks_are_looked_at_too_and_near_rivals_once():
    maps = maps_with(
        (10, 50, 0.9, "picked"), (12, 51, 0.7, "picked"), (40, 62, 0.1, "picked"), (30, 70, 0.02, "picked")
    )
    assert places(possible_begins(maps)) == [(10, 50, "picked"), (40, 62, "picked")]


def test_two_strings_struck_at_once_are_two():
    maps = maps_with((10, 50, 0.9, "picked"), (10, 57, 0.8, "picked"))
    assert places(possible_begins(maps)) == [(10, 50, "picked"), (10, 57, "picked")]


def test_the_higher_map_says_how_it_begins():
    maps = maps_with((10, 50, 0.4, "picked"), (10, 50, 0.8, "legato"))
    assert [(begin.kind, round(begin.peak, 1)) for begin in possible_begins(maps)] == [("legato", 0.8)]


def test_the_top_of_a_peak_lies_between_frames():
    values = np.array([0, 0.5, 1.0, 0.9, 0.2], np.float32)
    assert 2.0 < top_between(values, 2) < 2.5
    assert top_between(values, 0) == 0.0


def test_nothing_begins_in_silence():
    silence = recording(np.zeros(22050))
    assert judged_begins(silence, voice_maps(silence), NoteSettings()) == ()


@pytest.fixture(scope="module")
def struck():
    """A low string that rings while two higher ones are picked, one of them twice."""
    sound = placed(
        (0.3, plucked(steady(hz(48), 2.4), decay_s=5.0)),
        (0.9, plucked(steady(hz(64), 0.59))),
        (1.5, plucked(steady(hz(64), 0.9))),
        (2.0, plucked(steady(hz(67), 0.7))),
        seconds=2.9,
    )
    take = recording(0.5 * sound)
    return take, voice_maps(take)


def test_each_pick_begins_one_note_and_a_string_that_rings_begins_none(struck):
    take, maps = struck
    begins = judged_begins(take, maps, NoteSettings())
    assert [(round(begin.at * maps.hop_s, 1), begin.row + LOWEST) for begin in begins] == [
        (0.3, 48),
        (0.9, 64),
        (1.5, 64),
        (2.0, 67),
    ]
    assert all(0.5 <= begin.sure <= 1 for begin in begins)


def test_a_long_take_is_judged_in_sections_without_a_seam(struck, monkeypatch):
    whole = judged_begins(*struck, NoteSettings())
    monkeypatch.setattr("transcribe.notes.begins.SECTION_FRAMES", 90)
    parts = judged_begins(*struck, NoteSettings())
    assert [(b.frame, b.row, b.kind) for b in parts] == [(b.frame, b.row, b.kind) for b in whole]
    assert [b.at for b in parts] == pytest.approx([b.at for b in whole], abs=1e-9)


def test_a_stricter_limit_keeps_fewer(struck):
    every = judged_begins(*struck, NoteSettings(), least=0.0)
    assert len(every) == len(possible_begins(struck[1]))
    sure = sorted(begin.sure for begin in every)
    assert len(judged_begins(*struck, NoteSettings(), least=sure[-1])) == 1


def test_the_shipped_numbers_fit_the_features_and_answer_with_probabilities(struck):
    features = begin_features(*struck, possible_begins(struck[1]), lag_s=None)
    told = probability(features)
    assert features.shape[0] == told.shape[0]
    assert np.isfinite(features).all()
    assert ((told >= 0) & (told <= 1)).all()
