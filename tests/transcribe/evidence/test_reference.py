"""The guitar's own tuning, from pitch lines whose offset is known by construction."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.signals import RATE_HZ, bend, hz, in_noise, placed, plucked, recording, steady
from transcribe.evidence.reference import tuning_offset
from transcribe.evidence.refine import refine_pitch
from transcribe.settings import EvidenceSettings

SETTINGS = EvidenceSettings()
HOP_S = 0.01


def line(*parts):
    """Pitch of notes in a row with a gap of 30 ms between them, and its times."""
    gaps = [np.concatenate((np.asarray(part, dtype=float), [np.nan] * 3)) for part in parts]
    midi = np.concatenate(gaps)
    return np.arange(midi.size) * HOP_S, midi


def held(midi, seconds=0.3, noise_cents=1.0, seed=0):
    frames = round(seconds / HOP_S)
    return midi + noise_cents / 100 * np.random.default_rng(seed).standard_normal(frames)


def pushed(midi, cents, seconds=0.3):
    """A bend that rises for 150 ms, then is held at ``cents``."""
    rise = midi + cents / 100 * (0.5 - 0.5 * np.cos(np.linspace(0, np.pi, 15)))
    return np.concatenate((held(midi, 0.1), rise, held(midi + cents / 100, seconds)))


@given(st.floats(-49, 49))
def test_notes_all_off_by_the_same_amount(offset_cents):
    times, midi = line(*(held(m + offset_cents / 100, seed=m) for m in (45, 52, 57, 60)))
    told = tuning_offset(times, midi, SETTINGS)
    assert abs((told.cents - offset_cents + 50) % 100 - 50) < 1
    assert told.error_cents < 2


def test_bends_that_fall_short_do_not_pull():
    parts = [held(m - 0.12, seed=m) for m in (57, 60, 62, 64, 57)]
    parts += [pushed(62 - 0.12, 170, 0.8), pushed(60 - 0.12, 150, 0.8)]  # 30 and 50 cents short of a full bend
    assert abs(tuning_offset(*line(*parts), SETTINGS).cents + 12) < 2


def test_one_long_bend_held_flat_weighs_no_more_than_one_note():
    notes = [held(m + 0.05, 0.3, seed=m) for m in (57, 60, 62, 64)]
    assert abs(tuning_offset(*line(*notes, pushed(62.05, 160, 3.0)), SETTINGS).cents - 5) < 2


def test_vibrato_and_slides_do_not_pull():
    wave = 64.08 + 0.3 * np.sin(2 * np.pi * 5.5 * np.arange(60) * HOP_S)
    slide = np.linspace(57.08, 60.08, 20)
    told = tuning_offset(*line(held(57.08), held(60.08), wave, slide, held(62.08)), SETTINGS)
    assert abs(told.cents - 8) < 2


def test_another_reference_pitch():
    times, midi = line(held(57.0), held(60.0))
    # 442 Hz lies 7.85 cents above 440 Hz: 1200 log2(442 / 440).
    assert abs(tuning_offset(times, midi, SETTINGS, reference_hz=442.0).cents + 7.85) < 0.5


def test_a_quarter_tone_off_is_told_as_one_or_the_other_side():
    assert abs(abs(tuning_offset(*line(held(57.5), held(60.5)), SETTINGS).cents) - 50) < 1


def test_more_notes_are_surer_and_scattered_ones_less():
    few = tuning_offset(*line(held(57.0, noise_cents=3)), SETTINGS)
    many = tuning_offset(*line(*(held(57.0 + k, noise_cents=3, seed=k) for k in range(8))), SETTINGS)
    wild = tuning_offset(*line(*(held(57.0 + k + 0.13 * k, seed=k) for k in range(8))), SETTINGS)
    assert many.error_cents < few.error_cents / 2
    assert wild.error_cents > 2 * many.error_cents


@pytest.mark.parametrize("midi", [np.full(50, np.nan), np.linspace(50, 60, 50), np.array([57.0, 57.0])])
def test_without_a_steady_note_nothing_is_claimed(midi):
    told = tuning_offset(np.arange(midi.size) * HOP_S, midi, SETTINGS)
    assert told.cents == 0
    assert told.error_cents == np.inf


def test_from_sound_to_offset():
    flat = -23.0
    notes = [(57, 0.0), (60, 0.4), (62, 0.8), (64, 1.6)]
    sounds = [(t, plucked(steady(hz(m, flat), 0.4), phase_seed=m)) for m, t in notes]
    sounds[2] = (0.8, plucked(bend(hz(62, flat), 170, 0.8, start_s=0.1, reach_s=0.25)))
    sound = in_noise(placed(*sounds, seconds=2.0), 40)
    times = np.arange(0.02, 1.98, HOP_S)
    starts = np.array([t for _, t in notes])
    coarse = np.array([notes[k][0] + flat / 100 for k in np.searchsorted(starts, times, side="right") - 1])
    moving = (times >= 0.8) & (times < 1.6)
    true = 12 * np.log2(bend(1.0, 170, 0.8, start_s=0.1, reach_s=0.25)[((times[moving] - 0.8) * RATE_HZ).astype(int)])
    coarse[moving] += true
    fine = refine_pitch(recording(sound), times, coarse, SETTINGS, onsets_s=starts)
    assert abs(tuning_offset(times, fine, SETTINGS).cents - flat) < 1.5
