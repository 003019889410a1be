"""The string heard, on takes made with a string model whose strings are known."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from tests.signals import RATE_HZ, recording
from tests.voice_material import sound_and_truth, takes
from transcribe.audio.read import read_recording
from transcribe.document.read import read_document
from transcribe.evidence.string_sets import explanations
from transcribe.notes.note import Vibrato
from transcribe.notes.string_clue import string_readings
from transcribe.training.lick import Lick, Push, Step
from transcribe.training.perform import perform

FIXTURES = Path(__file__).parents[3] / "fixtures"


def played(stem):
    """A take and what was played in it."""
    return (
        read_recording(FIXTURES / "takes" / f"{stem}.flac"),
        read_document(FIXTURES / "reference" / f"{stem}.take.json"),
    )


def explained(sound, notes, instrument):
    readings = string_readings(sound, notes, tuning_semitones=(instrument.tuning_offset_cents or 0.0) / 100)
    pitches = [note.midi for note in notes]
    return explanations(readings, pitches, instrument.open_strings_midi, frets=instrument.frets, capo=instrument.capo)


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


def test_a_note_that_shakes_says_nothing_unless_its_pitch_was_followed():
    sound, reference = played("lamp-room.bright-electric")
    notes = [item.note for item in reference.notes]
    shaken = [replace(note, vibrato=Vibrato(5.5, 30.0)) for note in notes]
    assert explained(sound, notes, reference.instrument)
    assert explained(sound, shaken, reference.instrument) == ()


def test_a_bend_nobody_followed_is_read_where_it_is_held():
    push = Push("bend", 200.0, 0.02, 0.1)
    lick = Lick("held-bend", (Step(Fraction(3), 2, 8, finger=3, pushes=(push,)),), tempo_bpm=100.0)
    sound, reference = sound_and_truth(perform(lick), "bright-electric", None, None)
    (note,) = [item.note for item in reference.notes]
    assert note.bends
    assert note.contour is None
    (weights,) = explained(recording(sound), [note], reference.instrument)[0].weights
    assert int(np.argmax(weights)) + 1 == 2
    # Told as a note that stands still, its partials are looked for where they are not.
    unbent = explained(recording(sound), [replace(note, bends=())], reference.instrument)
    assert not unbent or unbent[0].weights[0] != weights


def test_a_string_bent_up_to_another_keeps_that_one_from_being_read():
    for take in takes("judging", None, styles=("oblique",), conditions=("clean",), guitars=("steel-acoustic",)):
        if take.name.startswith("two-masts"):
            break
    readings = dict(zip((note.id for note in take.notes), string_readings(take.recording, take.notes), strict=True))
    bent = [note for note in take.notes if note.bends]
    reached = {
        other.id: any(
            abs(note.midi + note.highest_bend_cents / 100 - other.midi) < 0.5
            and note.onset_s < other.offset_s
            and other.onset_s < note.offset_s
            for note in bent
        )
        for other in take.notes
        if not other.bends
    }
    assert any(reached.values())
    assert all(not readings[name] for name, meets in reached.items() if meets)
    assert all(readings[name] for name, meets in reached.items() if not meets)


def test_nothing_is_said_of_silence():
    _, reference = played("lamp-room.bright-electric")
    silence = recording(np.zeros(20 * RATE_HZ))
    assert explained(silence, [item.note for item in reference.notes], reference.instrument) == ()
