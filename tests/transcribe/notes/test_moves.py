import numpy as np
import pytest

from transcribe.notes.moves import Line, beside_waves, find_moves, find_waves, without_waves
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()
HOP_S = 0.01


def line(midi):
    midi = np.asarray(midi, dtype=float)
    return Line(0.0, HOP_S, midi, np.ones(midi.size))


def clock(seconds):
    return np.arange(round(seconds / HOP_S)) * HOP_S


@pytest.mark.parametrize(("rate_hz", "extent_cents"), [(3.5, 30.0), (5.0, 15.0), (6.5, 60.0), (8.0, 20.0)])
def test_vibrato_is_measured(rate_hz, extent_cents):
    t = clock(1.5)
    wave = 64 + extent_cents / 100 * np.sin(2 * np.pi * rate_hz * np.maximum(0, t - 0.3))
    (found,) = find_waves(line(wave), SETTINGS)
    assert abs(found.rate_hz - rate_hz) < 0.06 * rate_hz
    assert abs(found.extent_cents - extent_cents) < 0.1 * extent_cents
    assert found.first * HOP_S < 0.45


def test_a_note_with_vibrato_has_no_moves():
    t = clock(1.5)
    waving = line(64 + 0.4 * np.sin(2 * np.pi * 5 * np.maximum(0, t - 0.4)))
    waves = find_waves(waving, SETTINGS)
    calm = without_waves(waving, waves)
    assert np.ptp(calm[40:110]) * 100 < 20
    assert beside_waves(find_moves(calm, hop_s=HOP_S, settings=SETTINGS), waves, HOP_S) == ()


def test_bends_and_releases_are_not_vibrato():
    t = clock(2.0)
    swings = 64 + 2.0 * (0.5 - 0.5 * np.cos(2 * np.pi * 1.6 * t))
    assert find_waves(line(swings), SETTINGS) == ()


def test_vibrato_on_top_of_a_bend_leaves_the_bend():
    t = clock(1.6)
    rise = 2.0 * np.clip((t - 0.2) / 0.15, 0, 1)
    wave = np.where(t > 0.5, 0.25 * np.sin(2 * np.pi * 5.5 * (t - 0.5)), 0.0)
    bent = line(60 + rise + wave)
    waves = find_waves(bent, SETTINGS)
    moves = beside_waves(find_moves(without_waves(bent, waves), hop_s=HOP_S, settings=SETTINGS), waves, HOP_S)
    assert len(waves) == 1
    assert [round(move.semitones, 1) for move in moves] == [2.0]


def test_one_move_between_two_holds():
    (move,) = find_moves(
        np.concatenate((np.full(30, 60.0), np.linspace(60, 62, 15), np.full(30, 62.0))), hop_s=HOP_S, settings=SETTINGS
    )
    assert move.from_midi == pytest.approx(60.0, abs=0.02)
    assert move.to_midi == pytest.approx(62.0, abs=0.02)
    assert 0.27 <= move.first * HOP_S <= 0.32
    assert 0.42 <= move.last * HOP_S <= 0.48


def test_a_quarter_tone_curl_is_a_move_and_a_slow_drift_is_none():
    curl = np.concatenate((np.full(30, 60.0), np.linspace(60, 60.45, 15), np.full(20, 60.45)))
    assert len(find_moves(curl, hop_s=HOP_S, settings=SETTINGS)) == 1
    assert find_moves(np.linspace(60.2, 60.0, 200), hop_s=HOP_S, settings=SETTINGS) == ()


def test_settling_after_the_strike_is_no_move():
    settling = np.concatenate((np.array([59.5, 59.7, 59.9]), np.full(40, 60.0)))
    assert find_moves(settling, hop_s=HOP_S, settings=SETTINGS) == ()


def test_too_short_a_line_has_no_moves():
    assert find_moves(np.array([60.0, 61.0]), hop_s=HOP_S, settings=SETTINGS) == ()
