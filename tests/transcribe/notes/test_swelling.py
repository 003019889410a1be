"""Plucked notes are loudest at once and fade; bowed and blown ones swell and are held up."""

from dataclasses import replace

import numpy as np
import pytest

from tests.signals import RATE_HZ, hz, placed, plucked, recording, steady
from transcribe.notes.attack import envelope
from transcribe.notes.note import Bend, Note
from transcribe.notes.swelling import growth_db_per_s, rise_s

NOTES = [Note(f"n{k}", 0.2 + 0.5 * k, 0.65 + 0.5 * k, midi, attack="picked") for k, midi in enumerate((57, 60, 64))]
T_S = np.arange(round(0.45 * RATE_HZ)) / RATE_HZ


def played(shape):
    """A line whose notes have the given shape over 0.45 s."""
    parts = [(note.onset_s, shape * steady(hz(note.midi), 0.45)[: shape.size]) for note in NOTES]
    return envelope(recording(placed(*parts, seconds=2.0)))


def test_a_plucked_note_is_loudest_at_once_and_fades():
    parts = [(note.onset_s, plucked(steady(hz(note.midi), 0.45), level=0.4)) for note in NOTES]
    loudness = envelope(recording(placed(*parts, seconds=2.0)))
    assert rise_s(loudness, NOTES) < 0.03
    assert growth_db_per_s(loudness, NOTES) < -3.0


def test_a_note_that_swells_for_a_fifth_of_a_second_rises_nearly_so_long():
    swollen = played(0.4 * np.minimum(1.0, T_S / 0.2))
    assert 0.1 < rise_s(swollen, NOTES) < 0.2


def test_growth_is_told_in_decibels_a_second():
    grown = played(0.1 * 10 ** (20.0 * T_S / 20.0))  # by 20 dB in a second
    assert growth_db_per_s(grown, NOTES) == pytest.approx(20.0, abs=1.5)


def test_two_notes_tell_nothing():
    swollen = played(0.4 * np.minimum(1.0, T_S / 0.2))
    assert rise_s(swollen, NOTES[:2]) == growth_db_per_s(swollen, NOTES[:2]) == 0.0
    assert rise_s(swollen, []) == growth_db_per_s(swollen, []) == 0.0


def test_what_a_finger_began_and_what_is_bent_do_not_tell():
    swollen = played(0.4 * np.minimum(1.0, T_S / 0.2))
    bent = [
        replace(note, bends=(Bend("bend", note.onset_s, note.onset_s + 0.1, note.offset_s, 200.0, 200.0),))
        for note in NOTES
    ]
    assert growth_db_per_s(swollen, bent) == 0.0
    assert rise_s(swollen, [replace(note, attack="hammer-on") for note in NOTES]) == 0.0


def test_a_note_that_begins_in_the_sound_of_another_has_no_rise():
    waver = 0.3 - 0.08 * np.sin(2 * np.pi * 2 * np.arange(round(1.9 * RATE_HZ)) / RATE_HZ)  # by 5 dB, twice a second
    loudness = envelope(recording(placed((0.05, waver * steady(hz(45), 1.9)), seconds=2.0)))
    assert rise_s(loudness, NOTES) == 0.0
