import numpy as np
import pytest

from tests import signals
from transcribe.notes.moves import Line, find_moves
from transcribe.notes.shape import runs_into, shape_of
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()
HOP_S = 0.01


def take_and_line(midi_of_time, seconds=0.9):
    t = np.arange(round(seconds * signals.RATE_HZ)) / signals.RATE_HZ
    midi = midi_of_time(t)
    take = signals.recording(signals.plucked(440 * 2 ** ((midi - 69) / 12)))
    frames = np.arange(round(seconds / HOP_S))
    seen = midi[np.clip((frames * HOP_S * signals.RATE_HZ).astype(int), 0, midi.size - 1)]
    blurred = np.convolve(np.pad(seen, 2, mode="edge"), np.ones(5) / 5, mode="valid")  # as a long window would see it
    return take, Line(0.0, HOP_S, blurred, np.ones(blurred.size))


def shape(midi_of_time):
    take, line = take_and_line(midi_of_time)
    (move,) = find_moves(line.midi, hop_s=HOP_S, settings=SETTINGS)
    return shape_of(move, line, take, SETTINGS)


def stairs(low, steps, begin_s, fret_s):
    return lambda t: low + np.sign(steps) * np.clip(np.floor((t - begin_s) / fret_s) + 1, 0, abs(steps))


@pytest.mark.parametrize("size", [1.0, 2.0, -2.0, 3.0, -4.0])
def test_a_hammered_or_pulled_finger_jumps(size):
    found = shape(lambda t: 62 + size * (t > 0.4))
    assert found.manner == "jump"
    assert abs(found.middle_s - 0.4) < 0.012


@pytest.mark.parametrize("frets", [2, 3, 5, -2, -4])
def test_a_slide_passes_every_fret(frets):
    found = shape(stairs(62, frets, 0.35, 0.03))
    assert found.manner == "stairs"
    assert abs(found.arrival_s - (0.35 + 0.03 * (abs(frets) - 1))) < 0.02


@pytest.mark.parametrize(
    ("size", "over_s"), [(1.0, 0.1), (2.0, 0.1), (2.0, 0.2), (3.0, 0.15), (0.5, 0.12), (-2.0, 0.2)]
)
def test_a_pushed_string_glides(size, over_s):
    found = shape(lambda t: 64 + size * (0.5 - 0.5 * np.cos(np.pi * np.clip((t - 0.3) / over_s, 0, 1))))
    assert found.manner == "glide"
    assert 0.6 * abs(size) / over_s < found.pace(size) < 1.6 * abs(size) / over_s


def test_a_slide_into_the_next_pick_is_seen_before_it_and_a_plain_change_is_not():
    take, _ = take_and_line(lambda t: np.where(t < 0.5, stairs(60, 3, 0.4, 0.035)(t), 63))
    assert runs_into(take, held_midi=60, next_midi=63, strike_s=0.5, settings=SETTINGS)
    plain, _ = take_and_line(lambda t: np.where(t < 0.5, 60, 63))
    assert not runs_into(plain, held_midi=60, next_midi=63, strike_s=0.5, settings=SETTINGS)
    assert not runs_into(plain, held_midi=60, next_midi=63, strike_s=0.51, settings=SETTINGS)  # noted late
