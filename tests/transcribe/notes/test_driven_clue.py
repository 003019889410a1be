"""The strings of overdriven notes that sound alone, on takes of a string model whose strings are known."""

from pathlib import Path

import numpy as np
import pytest

from fixtures.licks import LICKS
from tests.signals import RATE_HZ, recording
from tests.voice_material import sound_and_truth
from transcribe.audio.read import read_recording
from transcribe.document.read import read_document
from transcribe.evidence.string_sets import explanations
from transcribe.notes.driven_clue import driven_readings, spans_alone
from transcribe.notes.note import Note
from transcribe.notes.string_clue import as_read, string_readings
from transcribe.training.perform import perform

FIXTURES = Path(__file__).parents[3] / "fixtures"


def played(stem):
    reference = read_document(FIXTURES / "reference" / f"{stem}.take.json")
    sound = as_read(read_recording(FIXTURES / "takes" / f"{stem}.flac"))
    return sound, reference, (reference.instrument.tuning_offset_cents or 0.0) / 100


@pytest.mark.parametrize("lick", ["lamp-room", "tin-capstan"])
def test_an_overdriven_guitar_tells_its_strings(lick):
    sound, reference = sound_and_truth(perform(LICKS[lick]), "driven-electric", None, None)
    notes, instrument = [item.note for item in reference.notes], reference.instrument
    tuning = (instrument.tuning_offset_cents or 0.0) / 100
    readings = string_readings(recording(sound), notes, tuning_semitones=tuning)
    pitches = [note.midi for note in notes]
    found = explanations(readings, pitches, instrument.open_strings_midi, frets=instrument.frets, capo=instrument.capo)
    right = []
    for explanation in found:
        told = [
            int(np.argmax(weights)) + 1 == item.placement.string
            for weights, item in zip(explanation.weights, reference.notes, strict=True)
            if weights is not None
        ]
        right.append(np.mean(told))
    assert len(told) >= 0.5 * len(notes)
    assert max(right) >= 0.8


@pytest.mark.parametrize("guitar", ["bright-electric", "steel-acoustic"])
def test_a_clean_take_is_left_to_its_partials(guitar):
    sound, reference, tuning = played(f"tin-capstan.{guitar}")
    assert driven_readings(sound, [item.note for item in reference.notes], tuning) == {}


def test_only_where_one_string_sounds_is_looked():
    alone, ringing, over, dead = (
        Note("n1", 0.0, 1.0, 60),
        Note("n2", 2.0, 4.0, 55),
        Note("n3", 2.5, 3.5, 64),
        Note("n4", 5.0, 5.6, 50, mute="dead"),
    )
    spans = spans_alone([alone, ringing, over, dead])
    assert spans == {0: (0.05, 0.75), 1: (2.05, 2.5)}  # the second until the third begins


def test_nothing_is_said_of_silence():
    assert driven_readings(recording(np.zeros(3 * RATE_HZ)), [Note("n1", 0.5, 1.5, 60)], 0.0) == {}
