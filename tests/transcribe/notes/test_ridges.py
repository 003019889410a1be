import numpy as np

from tests.notes_drawn import drawn_evidence, held
from transcribe.notes.ridges import follow_ridges, salience_peaks
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()


def test_a_peak_is_read_between_bins_to_a_cent():
    evidence = drawn_evidence((0.0, held(60.07, 0.1), 0.8), seconds=0.1)
    frame, midi, height = salience_peaks(evidence, floor=0.1)
    assert frame.size == 10
    assert np.all(np.abs(midi - 60.07) * 100 < 1.0)
    assert np.all(height > 0.7)


def test_two_voices_make_two_ridges():
    evidence = drawn_evidence((0.0, held(60, 0.5), 0.9), (0.0, held(64, 0.5), 0.6), seconds=0.5)
    peaks = follow_ridges(evidence, SETTINGS)
    assert len(set(peaks.ridge)) == 2
    for ridge in set(peaks.ridge):
        assert np.ptp(peaks.midi[peaks.ridge == ridge]) < 0.1


def test_a_five_fret_slide_in_a_tenth_of_a_second_stays_one_ridge():
    slide = np.concatenate((held(67, 0.2), np.linspace(67, 62, 11), held(62, 0.2)))
    peaks = follow_ridges(drawn_evidence((0.0, slide, 0.9), seconds=0.6), SETTINGS)
    assert len(set(peaks.ridge)) == 1


def test_no_peak_belongs_to_two_ridges_when_voices_cross():
    up, down = np.linspace(60, 64, 60), np.linspace(64, 60, 60)
    peaks = follow_ridges(drawn_evidence((0.0, up, 0.9), (0.0, down, 0.8), seconds=0.6), SETTINGS)
    pairs = list(zip(peaks.frame, peaks.ridge, strict=True))
    assert len(pairs) == len(set(pairs))
    assert np.all(peaks.ridge >= 0)


def test_an_empty_map_has_no_ridges():
    assert follow_ridges(drawn_evidence(seconds=0.3), SETTINGS).frame.size == 0


def test_a_voice_that_ends_does_not_take_its_neighbours_peak():
    evidence = drawn_evidence((0.0, held(60, 0.3), 0.9), (0.0, held(60.8, 0.6), 0.9), seconds=0.6)
    peaks = follow_ridges(evidence, SETTINGS)
    upper = peaks.midi > 60.4
    assert len(set(peaks.ridge[upper])) == 1
    assert not set(peaks.ridge[upper]) & set(peaks.ridge[~upper])
