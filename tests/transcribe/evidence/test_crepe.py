"""The salience map on sounds of known pitch."""

from threading import Event

import numpy as np
import pytest

from tests.signals import RATE_HZ, glide, hz, placed, plucked, recording, steady
from transcribe.errors import SettingsError
from transcribe.evidence.crepe import BIN_MIDI, activations, crepe_evidence
from transcribe.settings import EvidenceSettings

SETTINGS = EvidenceSettings(network_threads=1)


def heard_midi(salience):
    """Pitch as the authors' code reads it: the mean of the nine bins around the peak, weighted by activation."""
    peaks = salience.argmax(axis=1)[:, None] + np.arange(-4, 5)
    weights = np.take_along_axis(salience, peaks, axis=1)
    return (weights * BIN_MIDI[peaks]).sum(axis=1) / weights.sum(axis=1)


def test_bins_are_20_cents_apart_over_six_octaves():
    assert np.allclose(np.diff(BIN_MIDI) * 100, 20.0)
    # The paper says 32.70 Hz to 1975.5 Hz; the authors' code, with which the network was trained, is 54 cents lower.
    assert abs(hz(BIN_MIDI[0]) - 31.70) < 0.01
    assert abs(hz(BIN_MIDI[-1]) - 2005.5) < 0.1


@pytest.mark.parametrize("midi", [40, 45, 50, 55, 59, 64, 76, 83])
def test_plucked_notes_peak_within_a_bin_of_their_pitch(midi):
    evidence = crepe_evidence(recording(plucked(steady(hz(midi), 0.5))), SETTINGS)
    assert np.abs(heard_midi(evidence.salience[10:40]) - midi).max() * 100 < 25
    assert evidence.salience[10:40].max(axis=1).min() > 0.5


def test_frames_sit_on_the_clock_they_claim():
    pitch = glide(hz(50), hz(62), 1.0)
    evidence = crepe_evidence(recording(plucked(pitch)), SETTINGS)
    inside = slice(10, 90)
    heard = heard_midi(evidence.salience[inside])
    true = 50 + 12 * evidence.times_s[inside]
    assert abs(np.median(heard - true)) * 100 < 6  # 6 cents here are 5 ms
    assert evidence.hop_s == 0.01


def test_the_take_may_begin_later_than_the_file():
    late = recording(plucked(steady(220.0, 0.3)))
    late = type(late)(late.samples, late.rate_hz, start_s=2.5)
    assert crepe_evidence(late, SETTINGS).times_s[0] == 2.5


def test_silence_has_no_salience_and_is_not_run(monkeypatch):
    sound = placed((0.5, plucked(steady(220.0, 0.3))), seconds=1.5)
    evidence = crepe_evidence(recording(sound), SETTINGS)
    assert evidence.salience[:45].max() == 0
    assert evidence.salience[120:].max() == 0
    assert evidence.salience[55:75].max(axis=1).min() > 0.5
    assert evidence.level_db[:45].max() == -120


def test_progress_rises_to_the_whole_take():
    told = []
    sound = recording(plucked(steady(220.0, 2.0)))
    crepe_evidence(sound, SETTINGS, progress=lambda done, total: told.append((done, total)))
    assert told[-1] == (201, 201)
    assert [done for done, _ in told] == sorted(done for done, _ in told)


def test_a_frame_does_not_depend_on_its_batch():
    sound = recording(plucked(steady(hz(52), 1.0)))
    all_of_them = np.ones(101, dtype=bool)
    every = activations(sound, SETTINGS, heard=all_of_them, restless=all_of_them)
    third = np.arange(101) % 3 == 0
    some = activations(sound, SETTINGS, heard=third)
    assert np.abs(every[third] - some[third]).max() < 1e-4
    assert some[~third].max() == 0


def test_what_is_drawn_through_differs_little_from_what_is_asked_for():
    pitch = np.concatenate([steady(hz(52), 0.6), glide(hz(57), hz(59), 0.4), steady(hz(64), 0.6)])
    sound = recording(plucked(pitch))
    heard = np.ones(161, dtype=bool)
    drawn, asked = (activations(sound, SETTINGS, heard=heard, restless=restless) for restless in (None, heard))
    assert np.quantile(np.abs(drawn - asked).max(axis=1), 0.95) < 0.15
    clear = asked.max(axis=1) > 0.5
    assert np.mean(np.abs(drawn.argmax(axis=1) - asked.argmax(axis=1))[clear] > 1) < 0.03
    assert not np.array_equal(drawn, asked)


def test_a_take_at_another_rate_gives_the_same_map():
    low = crepe_evidence(recording(plucked(steady(196.0, 0.5), partials=8)), SETTINGS)
    high = crepe_evidence(recording(plucked(steady(196.0, 0.5, 48000), rate_hz=48000, partials=8), 48000), SETTINGS)
    assert RATE_HZ != 48000
    assert np.abs(low.salience[5:45] - high.salience[5:45]).max() < 0.1


def test_two_threads_hear_what_one_hears_and_leave_time_for_other_work():
    sound, called = recording(plucked(steady(hz(52), 3.0))), []
    one = crepe_evidence(sound, SETTINGS)
    two = crepe_evidence(sound, EvidenceSettings(network_threads=2), meanwhile=lambda: called.append(True))
    assert np.abs(one.salience - two.salience).max() < 1e-4
    assert called == [True]


def test_progress_goes_on_while_other_work_is_done_and_reaches_every_frame():
    steps, waited = [], Event()

    def slow():
        assert waited.wait(60.0), "progress is told meanwhile"

    def progress(done, count):
        steps.append((done, count))
        waited.set()

    sound = recording(plucked(steady(hz(52), 3.0)))
    found = crepe_evidence(sound, SETTINGS, progress=progress, meanwhile=slow)
    assert [done for done, _ in steps] == sorted(done for done, _ in steps)
    assert len(steps) > 3
    assert steps[-1] == (len(found.salience), len(found.salience))


def test_what_goes_wrong_meanwhile_is_told():
    def fails():
        raise ValueError("no voices")

    with pytest.raises(ValueError, match="no voices"):
        crepe_evidence(recording(plucked(steady(hz(52), 3.0))), SETTINGS, meanwhile=fails)


@pytest.mark.parametrize("threads", [1, 2])
def test_a_network_that_fails_is_told_and_nobody_waits_for_it(monkeypatch, threads):
    def fails(frames):
        raise ValueError("no answer")

    monkeypatch.setattr("transcribe.evidence.crepe.load_network", lambda content, *, threads: (fails, 4))
    with pytest.raises(ValueError, match="no answer"):
        crepe_evidence(recording(plucked(steady(hz(52), 1.0))), EvidenceSettings(network_threads=threads))


def test_no_threads_at_all_is_told_with_what_to_give():
    with pytest.raises(SettingsError, match="no network runs on 0 threads"):
        EvidenceSettings(network_threads=0)


def test_the_large_network_is_loaded_once_for_all_threads(monkeypatch):
    loaded = []

    def load(content, *, threads):
        loaded.append(threads)
        return lambda frames: np.zeros((len(frames), 360), np.float32), 4

    monkeypatch.setattr("transcribe.evidence.crepe.load_network", load)
    monkeypatch.setattr("transcribe.evidence.crepe.network_bytes", lambda size: b"")
    for size in ("full", "tiny"):
        crepe_evidence(recording(plucked(steady(hz(52), 0.3))), EvidenceSettings(network_threads=2), size=size)
    assert loaded == [2, 1, 1]
