"""What the network says of strings, on maps made by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.evidence.voice_maps import VoiceMaps, stored
from transcribe.notes.note import Contour, Note
from transcribe.notes.string_shares import Trust, believed, mean_log_shares, network_shares

FRAMES, PITCHES, LOWEST, HOP_S = 100, 60, 36, 0.01


def maps(strings, *, held=1.0):
    """Maps in which each pitch of ``strings`` is held throughout on one string, told with a share of .9."""
    sounding = np.zeros((FRAMES, PITCHES))
    string = np.full((FRAMES, PITCHES, 6), 1 / 6)
    for midi, number in strings.items():
        sounding[:, midi - LOWEST] = held
        string[:, midi - LOWEST] = 0.02
        string[:, midi - LOWEST, number - 1] = 0.9
    nothing = np.zeros((FRAMES, PITCHES), np.uint8)
    return VoiceMaps(
        0.0, HOP_S, LOWEST, 1, nothing, nothing.astype(np.int8), nothing, nothing, stored(sounding), stored(string),
        nothing, nothing, np.zeros(FRAMES, np.float32),
    )  # fmt: skip


def test_the_string_the_network_names_is_likeliest():
    told = network_shares(maps({64: 2, 55: 4}), (Note("a", 0.1, 0.6, 64), Note("b", 0.1, 0.6, 55)))
    assert [int(np.argmax(shares)) + 1 for shares in told] == [2, 4]
    assert all(sum(shares) == pytest.approx(1) for shares in told)


def test_where_nothing_is_held_and_of_dead_notes_and_harmonics_nothing_is_told():
    notes = (
        Note("a", 0.1, 0.6, 60),
        Note("b", 0.1, 0.6, 64, mute="dead"),
        Note("c", 0.1, 0.6, 64, harmonic="natural"),
        Note("d", 5.0, 5.5, 64),
    )
    assert network_shares(maps({64: 2}), notes) == (None, None, None, None)


def test_a_guitar_tuned_down_is_read_where_it_sounds():
    heard = maps({63: 2})
    note = Note("a", 0.1, 0.6, 64)
    assert network_shares(heard, (note,)) == (None,)
    assert np.argmax(network_shares(heard, (note,), tuning_semitones=-1.0)[0]) == 1


def test_a_bent_note_is_read_at_the_pitch_it_has_reached():
    contour = Contour(start_s=0.1, hop_s=0.05, cents=(200.0,) * 10)
    told = mean_log_shares(maps({66: 3}), Note("a", 0.1, 0.6, 64, contour=contour))
    assert np.argmax(told) == 2


@given(st.lists(st.floats(-6, 0), min_size=6, max_size=6), st.floats(0, 2), st.floats(0, 1))
def test_less_trust_brings_the_strings_nearer_to_each_other(logs, power, nothing):
    sure, less = believed(np.array(logs), Trust(2.0, 0.0)), believed(np.array(logs), Trust(power, nothing))
    assert sum(less) == pytest.approx(1)
    assert max(less) <= max(sure) + 1e-9


def test_without_trust_all_strings_are_alike():
    assert believed(np.array([0.0, -1, -2, -3, -4, -5]), Trust(0.0, 0.0)) == pytest.approx([1 / 6] * 6)
    with pytest.raises(ValueError, match="share"):
        Trust(1.0, 1.5)
