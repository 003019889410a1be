import numpy as np
import pytest

from tests import signals
from tests.notes_drawn import drawn_evidence
from transcribe.notes.octave import between_partials_db, lower_evidence, put_octaves_right
from transcribe.notes.track import Strand
from transcribe.settings import NoteSettings

TIMES = np.array([0.1, 0.15, 0.2])


def noisy_pluck(midi):
    return signals.recording(signals.in_noise(signals.plucked(signals.steady(signals.hz(midi), 0.6)), 40))


@pytest.mark.parametrize("midi", [45, 52, 57, 64, 70])
def test_the_right_octave_has_nothing_between_its_partials(midi):
    assert lower_evidence(noisy_pluck(midi), TIMES, midi) < 0.3


@pytest.mark.parametrize("midi", [45, 52, 57, 64, 70])
def test_a_note_named_an_octave_too_high_is_caught(midi):
    assert lower_evidence(noisy_pluck(midi), TIMES, midi + 12) > 1.05


def test_a_note_named_a_twelfth_too_high_is_caught():
    assert lower_evidence(noisy_pluck(52), TIMES, 71.02, divisor=3) > 1.0


def test_a_lower_octave_below_the_guitar_is_not_looked_for():
    assert lower_evidence(noisy_pluck(33), TIMES, 45) == 0.0


def test_a_very_short_recording_says_nothing():
    assert between_partials_db(signals.recording(np.zeros(100)), TIMES, 60) == (0.0, -100.0)


def test_strands_are_moved_down_where_they_sound_lower_unless_that_note_rings_on():
    take, evidence = noisy_pluck(52), drawn_evidence(seconds=0.6)
    named = Strand(5, np.full(40, 64.0), np.full(40, 0.9))
    (right,) = put_octaves_right((named,), take, evidence, NoteSettings())
    assert right.midi[0] == 52.0
    before = Strand(0, np.full(6, 52.0), np.full(6, 0.9))
    assert put_octaves_right((before, named), take, evidence, NoteSettings())[1].midi[0] == 64.0
