"""The messages of a MIDI file as plain values."""

import mido
import numpy as np
import pytest

from tests.midi_files import QUARTER, line, midi_file
from transcribe.document.midi_events import LARGEST_BYTES, MidiClock, midi_music
from transcribe.errors import ReadError


def test_the_same_key_struck_twice_ends_in_the_order_it_began():
    messages = [
        mido.Message("note_on", note=60, velocity=80),
        mido.Message("note_on", note=60, velocity=90, time=100),
        mido.Message("note_off", note=60, time=100),
        mido.Message("note_off", note=60, time=100),
    ]
    struck = midi_music(midi_file(messages)).struck
    assert [(item.on, item.off, item.velocity) for item in struck] == [(0, 200, 80), (100, 300, 90)]


def test_one_key_on_two_tracks_is_two_notes():
    struck = midi_music(midi_file(line((60,)), line((60,), sounding=QUARTER))).struck
    assert sorted(item.off for item in struck) == [QUARTER // 2, QUARTER]


def test_a_note_of_no_length_lasts_a_tick():
    messages = [mido.Message("note_on", note=60, velocity=80), mido.Message("note_off", note=60)]
    (item,) = midi_music(midi_file(messages)).struck
    assert item.off == item.on + 1


def test_data_for_another_parameter_leaves_the_bend_range_alone():
    """NRPN numbers (controllers 98, 99) take the data entry away from RPN 0 (MIDI 1.0 Detailed Specification)."""

    def control(number, value):
        return mido.Message("control_change", control=number, value=value)

    messages = [control(101, 0), control(100, 0), control(99, 1), control(98, 8), control(6, 24)]
    messages += [mido.Message("pitchwheel", pitch=4096), *line((60,))]
    assert midi_music(midi_file(messages)).wheels[0].semitones == pytest.approx([1.0])


def test_the_clock_adds_up_changes_of_tempo():
    clock = MidiClock(480, [(0, 500_000), (960, 1_000_000), (1440, 250_000)])
    assert clock.seconds(np.array([0, 480, 960, 1440, 1920])) == pytest.approx([0.0, 0.5, 1.0, 2.0, 2.25])


@pytest.mark.parametrize(("division", "ticks_a_second"), [(-25 << 8 | 40, 1000), (-30 << 8 | 80, 2400)])
def test_film_time_has_ticks_a_second(division, ticks_a_second):
    clock = MidiClock(division, [(0, 300_000)])
    assert clock.seconds([ticks_a_second]) == pytest.approx([1.0])


def test_a_file_of_absurd_size_is_refused_before_it_is_parsed():
    with pytest.raises(ReadError, match="too large"):
        midi_music(b"MThd" + bytes(LARGEST_BYTES))
