"""Strands and strikes to stretches, on hand-drawn maps."""

from dataclasses import replace

import numpy as np
import pytest

from tests import signals
from tests.notes_drawn import drawn_evidence, held
from transcribe.notes.attack import Strike, envelope, find_strikes
from transcribe.notes.endings import without_leftovers
from transcribe.notes.lines import Stretch, draw_lines, sound_end, without_blips
from transcribe.notes.moves import Line
from transcribe.notes.starts import share_strikes
from transcribe.notes.track import find_strands
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()


def stretches(evidence, sound, settings=SETTINGS):
    loud = envelope(signals.recording(sound))
    strikes = find_strikes(loud, evidence, settings)
    struck = share_strikes(find_strands(evidence, settings), strikes, evidence, settings)
    return draw_lines(struck, strikes, loud, evidence, settings)


def pluck(midi, seconds):
    return signals.plucked(signals.steady(signals.hz(midi), seconds))


def test_a_repeated_note_is_cut_at_the_pick():
    evidence = drawn_evidence((0.1, held(57, 0.8), 0.9), seconds=1.0, onsets_s=[0.1, 0.5])
    sound = signals.placed((0.1, pluck(57, 0.4)), (0.5, pluck(57, 0.4)), seconds=1.0)
    assert [round(each.onset_s, 2) for each in stretches(evidence, sound)] == [0.1, 0.5]


def test_a_hammered_note_goes_on_in_the_same_stretch():
    evidence = drawn_evidence((0.1, held(57, 0.4), 0.9), (0.5, held(59, 0.4), 0.9), seconds=1.0, onsets_s=[0.1])
    pitch = np.concatenate((signals.steady(signals.hz(57), 0.4), signals.steady(signals.hz(59), 0.4)))
    (only,) = stretches(evidence, signals.placed((0.1, signals.plucked(pitch)), seconds=1.0))
    assert round(float(only.line.midi[0])) == 57
    assert round(float(only.line.midi[-1])) == 59


def test_two_strings_make_two_stretches_and_the_ringing_one_is_not_cut():
    evidence = drawn_evidence(
        (0.1, held(52, 0.9), 0.8), (0.5, held(64, 0.4), 0.9), seconds=1.1, onset_bins=[(0.1, 52), (0.5, 64)]
    )
    sound = signals.placed((0.1, pluck(52, 0.9)), (0.5, pluck(64, 0.4)), seconds=1.1)
    low, high = stretches(evidence, sound, replace(SETTINGS, max_voices=2))
    assert (round(float(np.median(low.line.midi))), round(float(np.median(high.line.midi)))) == (52, 64)
    assert low.end_s > 0.9
    assert high.onset_s == pytest.approx(0.5, abs=0.02)


def test_a_stopped_string_ends_where_it_is_stopped():
    sound = pluck(57, 1.0)
    sound[round(0.5 * signals.RATE_HZ) :] *= 0.1  # the room rings on, 20 dB below
    assert sound_end(envelope(signals.recording(sound)), 0.0, 1.0, SETTINGS) == pytest.approx(0.5, abs=0.03)


def test_a_ringing_string_ends_where_the_map_says():
    assert sound_end(envelope(signals.recording(pluck(57, 1.0))), 0.0, 0.9, SETTINGS) == 0.9


def test_what_the_room_keeps_of_a_note_is_no_note():
    evidence = drawn_evidence((0.1, held(57, 0.4), 0.9), (0.65, held(57, 0.3), 0.9), seconds=1.2, onsets_s=[0.1])
    loud_then_soft = signals.placed((0.1, pluck(57, 0.4)), (0.65, 0.15 * pluck(57, 0.3)), seconds=1.2)
    both = stretches(evidence, loud_then_soft)
    assert len(both) == 2
    assert len(without_leftovers(both, envelope(signals.recording(loud_then_soft)), SETTINGS)) == 1


def test_a_leap_away_and_back_is_no_trill():
    line = np.concatenate((np.full(10, 60.0), np.full(4, 64.0), np.full(10, 60.0)))
    assert np.ptp(without_blips(line, longest=6)) < 0.01
    assert np.ptp(without_blips(line, longest=3)) == 4.0


def test_what_the_room_keeps_of_a_note_is_none_though_another_string_was_struck_and_stopped_between():
    sound = signals.placed(
        (0.1, pluck(57, 0.9)), (0.3, 0.02 * pluck(64, 0.1)), (1.05, 0.02 * pluck(57, 0.3)), seconds=1.5
    )

    def stretch(onset_s, end_s, midi, strike=None):
        count = round((end_s - onset_s) / 0.01)
        return Stretch(Line(onset_s, 0.01, np.full(count, float(midi)), np.ones(count)), onset_s, end_s, strike)

    struck = Strike(0.3, 0.9, 20.0, 20.0, 10.0)
    held_note, between = stretch(0.1, 1.0, 57, replace(struck, time_s=0.1)), stretch(0.3, 0.4, 64, struck)
    room = stretch(1.05, 1.35, 57)
    loud = envelope(signals.recording(sound))
    assert without_leftovers((held_note, between, room), loud, SETTINGS) == (held_note, between)


def test_a_string_that_dies_evenly_under_the_palm_is_not_stopped():
    """Its decay is fast from the start; a string that is stopped rings on first."""
    sound = pluck(57, 0.5) * 10.0 ** (-110.0 / 20 * np.arange(round(0.5 * signals.RATE_HZ)) / signals.RATE_HZ)
    assert sound_end(envelope(signals.recording(sound)), 0.0, 0.45, SETTINGS) == 0.45
