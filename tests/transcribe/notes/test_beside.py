"""What sounds beside a voice, frame by frame."""

import numpy as np

from transcribe.notes.beside import NEAR_FRAMES, beside_each
from transcribe.notes.voice_lines import company_of
from transcribe.notes.voices import Voice

HOP_S = 256 / 22050


def voice(first, midi):
    midi = np.asarray(midi, dtype=float)
    return Voice(first * HOP_S, first, midi, np.ones(midi.size), "picked", 0.9, np.full(6, 1 / 6), 0.0)


def test_a_melody_over_a_drone_is_beside_it_half_a_window_farther_than_it_sounds():
    drone, note = voice(0, [40] * 100), voice(30, [64] * 20)
    beside, beneath = beside_each([drone, note])
    heard = np.flatnonzero(beside[:, 0] == 64)
    assert (heard[0], heard[-1]) == (30 - NEAR_FRAMES, 49 + NEAR_FRAMES)
    assert np.isnan(np.delete(beside[:, 0], heard)).all()
    assert (beneath == 40).all()
    assert beneath.shape == (20, 1)


def test_the_pitch_beside_bends_as_its_string_does():
    bent = np.concatenate([np.full(10, 62.0), np.linspace(62, 64, 10)])
    held, beside = beside_each([voice(10, [67] * 20), voice(10, bent)])
    assert np.array_equal(held[:, 0], bent)
    assert (beside == 67).all()


def test_notes_one_after_another_over_a_drone_take_no_more_room_than_one():
    line = [voice(20 * k, [60 + k] * 8) for k in range(10)]
    over_drone = beside_each([voice(0, [40] * 200), *line])[0]
    assert over_drone.shape == (200, 1)
    assert [over_drone[20 * k, 0] for k in range(10)] == [60 + k for k in range(10)]


def test_strings_of_a_chord_each_hear_all_the_others_whatever_their_order():
    chord = [voice(4, [64] * 30), voice(2, [57] * 30), voice(0, [52] * 30)]
    told = beside_each(chord)
    assert [sorted(pitches[10].tolist()) for pitches in told] == [[52, 57], [52, 64], [57, 64]]


def test_a_voice_by_itself_has_nothing_beside_it():
    alone, later = beside_each([voice(0, [60] * 10), voice(9 + NEAR_FRAMES + 1, [62] * 10)])
    assert alone.shape == later.shape == (10, 0)
    assert not company_of(voice(0, [60] * 10), alone).mixed.any()


def test_a_unison_is_company_at_the_same_pitch_and_a_third_is_not():
    unison = beside_each([voice(0, [60] * 10), voice(0, [60.1] * 10)])[0]
    assert company_of(voice(0, [60] * 10), unison).taken.all()
    third = beside_each([voice(0, [60] * 10), voice(0, [64] * 10)])[0]
    company = company_of(voice(0, [60] * 10), third)
    assert company.mixed.all()
    assert not company.taken.any()
