"""Natural harmonics named from the sound, and no fretted note called one."""

from dataclasses import replace

import pytest

from fingering.fretboard import Fretboard
from tests.benchmark_gestures import heard
from tests.harmonic_material import harmonic_takes
from transcribe.evaluate.matching import match_notes
from transcribe.hearing import with_nodes
from transcribe.notes.note import Note


@pytest.mark.parametrize("part", ["choosing", "judging"])
def test_bells_among_fretted_notes_of_the_string_model(part):
    (take,) = harmonic_takes(part, None, conditions=("clean",))
    told = heard(take)
    pairs = [(take.notes[a], told.notes[b]) for a, b in match_notes(take.notes, told.notes)]
    bells = [note.harmonic for played, note in pairs if played.harmonic == "natural"]
    fretted = [note.harmonic for played, note in pairs if played.harmonic == "none"]
    assert bells.count("natural") >= 0.7 * len(bells) > 5
    assert fretted.count("natural") <= 1
    assert len(fretted) > 5


def test_a_harmonic_needs_a_node_on_a_string_of_this_tuning():
    bell = Note("n1", 0.0, 1.0, 64 + 12, harmonic="natural")
    odd = replace(bell, id="n2", midi=64 + 14 - 1)
    kept = with_nodes((bell, odd), Fretboard())
    assert [note.harmonic for note in kept] == ["natural", "none"]
    assert with_nodes((odd,), Fretboard(open_midi=(65, 60, 56, 51, 46, 41)))[0].harmonic == "natural"  # a step up
