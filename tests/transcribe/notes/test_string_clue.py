"""The string heard, on takes made with a string model whose strings are known."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.signals import RATE_HZ, recording
from transcribe.audio.read import read_recording
from transcribe.document.read import read_document
from transcribe.notes.string_clue import string_explanations

FIXTURES = Path(__file__).parents[3] / "fixtures"


def played(stem):
    """A take and what was played in it."""
    return (
        read_recording(FIXTURES / "takes" / f"{stem}.flac"),
        read_document(FIXTURES / "reference" / f"{stem}.take.json"),
    )


def explained(sound, notes, instrument):
    return string_explanations(
        sound,
        notes,
        open_midi=instrument.open_strings_midi,
        frets=instrument.frets,
        capo=instrument.capo,
        tuning_semitones=(instrument.tuning_offset_cents or 0.0) / 100,
    )


@pytest.mark.parametrize("lick", ["lamp-room", "tin-capstan", "harbour-waltz", "spinning-buoy"])
def test_an_electric_guitar_tells_its_strings(lick):
    sound, reference = played(f"{lick}.bright-electric")
    found = explained(sound, [item.note for item in reference.notes], reference.instrument)
    truth = [item.placement.string for item in reference.notes]
    right = []
    for explanation in found:
        told = [weights for weights in explanation.weights if weights is not None]
        assert len(told) >= 0.5 * len(truth)  # those that neither bend nor shake: references carry no contour
        heard = [None if weights is None else int(np.argmax(weights)) + 1 for weights in explanation.weights]
        right.append(sum(here == there for here, there in zip(heard, truth, strict=True)))
    assert max(right) >= 0.85 * len(told)


def test_dead_notes_and_harmonics_say_nothing():
    sound, reference = played("spinning-buoy.bright-electric")
    notes = [item.note for item in reference.notes]
    notes[0], notes[1] = replace(notes[0], mute="dead"), replace(notes[1], harmonic="natural")
    weights = explained(sound, notes, reference.instrument)[0].weights
    assert weights[0] is None
    assert weights[1] is None
    assert weights[4] is not None


def test_a_note_that_moves_says_nothing_unless_its_pitch_was_followed():
    sound, reference = played("lamp-room.bright-electric")
    notes = [item.note for item in reference.notes]
    weights = explained(sound, notes, reference.instrument)[0].weights
    moving = [index for index, note in enumerate(notes) if note.bends or note.vibrato or note.slide]
    assert moving
    assert all(weights[index] is None for index in moving)


def test_nothing_is_said_of_silence():
    _, reference = played("lamp-room.bright-electric")
    silence = recording(np.zeros(20 * RATE_HZ))
    assert explained(silence, [item.note for item in reference.notes], reference.instrument) == ()
