"""Maps drawn by hand to voices: re-picks, oblique bends, crossings, fast bends, and what no onset began."""

from dataclasses import replace

import numpy as np

from transcribe.evidence.voice_maps import VoiceMaps, stored
from transcribe.notes.begins import possible_begins
from transcribe.notes.voices import find_voices

HOP_S, LOWEST, PITCHES = 0.0116, 36, 56


def maps_of(*notes, frames=200):
    """Each note: (first frame, last frame, pitch or array of pitches, "picked", "legato" or None)."""
    contour = np.zeros((frames, PITCHES * 3))
    offset = np.zeros((frames, PITCHES * 3), np.int8)
    onsets = {kind: np.zeros((frames, PITCHES)) for kind in ("picked", "legato")}
    bins = LOWEST + (np.arange(PITCHES * 3) - 1) / 3
    for first, last, pitch, kind in notes:
        pitches = np.broadcast_to(np.asarray(pitch, float), (last - first + 1,))
        for frame, midi in zip(range(first, last + 1), pitches, strict=True):
            bump = np.exp(-0.5 * ((bins - midi) * 3 / 0.8) ** 2)
            offset[frame] = np.where(bump > contour[frame], np.clip((midi - bins) * 3 * 64, -127, 127), offset[frame])
            contour[frame] = np.maximum(contour[frame], bump)
        if kind is not None:
            bump = np.exp(-0.5 * ((np.arange(frames) - first) / 0.8) ** 2)
            row = round(float(pitches[0])) - LOWEST
            onsets[kind][:, row] = np.maximum(onsets[kind][:, row], bump)
    zero = np.zeros((frames, PITCHES), np.uint8)
    string = np.zeros((frames, PITCHES, 6), np.uint8)
    string[..., 2] = 255
    picked, legato = stored(onsets["picked"]), stored(onsets["legato"])
    level = np.zeros(frames, np.float32)
    return VoiceMaps(0.0, HOP_S, LOWEST, 3, stored(contour), offset, picked, legato, zero, string, zero, zero, level)


def told(voices):
    return [(round(v.onset_s / HOP_S), round(float(v.midi[0])), v.begin) for v in voices]


def test_a_chord_is_as_many_voices():
    voices = find_voices(maps_of((20, 90, 48, "picked"), (22, 90, 55, "picked"), (24, 120, 64, "picked")))
    assert told(voices) == [(20, 48, "picked"), (22, 55, "picked"), (24, 64, "picked")]
    assert [v.last for v in voices] == [90, 90, 120]
    assert voices[0].string.argmax() == 2


def test_a_string_picked_again_is_two_notes():
    voices = find_voices(maps_of((20, 80, 60, "picked"), (50, 110, 60, "picked")))
    assert told(voices) == [(20, 60, "picked"), (50, 60, "picked")]
    assert voices[0].last < 51


def test_one_string_bends_while_another_rings():
    bend = 62 + 2 * np.clip((np.arange(100) - 30) / 20, 0, 1)
    voices = find_voices(maps_of((10, 109, bend, "picked"), (12, 130, 67, "picked")))
    assert told(voices) == [(10, 62, "picked"), (12, 67, "picked")]
    assert abs(voices[0].midi[-1] - 64) < 0.03, "cents of the contour come from its offsets"
    assert abs(voices[1].midi - 67).max() < 0.03


def test_a_unison_bend_keeps_both_notes():
    bend = 62 + 2 * np.clip((np.arange(60) - 30) / 20, 0, 1)
    voices = find_voices(maps_of((10, 69, bend, "picked"), (12, 110, 64, "picked")))
    assert told(voices) == [(10, 62, "picked"), (12, 64, "picked")]
    assert voices[1].last >= 100


def test_a_leap_that_no_onset_began_is_the_same_note_bending_fast():
    voices = find_voices(maps_of((10, 50, 60, "picked"), (52, 90, 62, None)))
    assert told(voices) == [(10, 60, "picked")]
    assert voices[0].last == 90


def test_a_note_does_not_run_on_into_the_next_string_a_semitone_away():
    voices = find_voices(maps_of((10, 50, 65, "picked"), (51, 90, 64, "picked")))
    assert told(voices) == [(10, 65, "picked"), (51, 64, "picked")]
    assert voices[0].last <= 51
    assert abs(voices[0].midi - 65).max() < 0.3


def test_neighbours_a_semitone_apart_ring_on_side_by_side():
    late = np.r_[np.full(4, 66.2), np.full(96, 67.2)]  # its own contour shows a moment after its onset
    shown = maps_of((10, 150, 66.2, "picked"), (45, 144, late, None))
    onset = maps_of((45, 144, 67.2, "picked"))
    maps = replace(shown, picked=np.maximum(shown.picked, onset.picked))
    voices = find_voices(maps)
    assert [round(float(np.median(v.midi)), 1) for v in voices] == [66.2, 67.2]
    assert voices[0].last >= 148


def test_what_a_judge_says_begins_is_all_that_begins():
    maps = maps_of((20, 80, 60, "picked"), (50, 110, 60, "picked"))
    assert told(find_voices(maps, begins=possible_begins(maps)[:1])) == [(20, 60, "picked")]
    assert find_voices(maps, begins=()) == ()


def test_legato_is_told():
    voices = find_voices(maps_of((10, 39, 60, "picked"), (40, 90, 62, "legato")))
    assert told(voices) == [(10, 60, "picked"), (40, 62, "legato")]


def test_sound_that_nothing_began_is_room_or_echo():
    assert find_voices(maps_of((60, 120, 60, None))) == ()
    assert len(find_voices(maps_of((0, 60, 60, None)))) == 1, "but for what was sounding when the take began"


def test_silence_has_no_voices():
    assert find_voices(maps_of()) == ()


def test_a_note_that_is_drowned_for_a_while_sounds_on_at_its_own_pitch():
    drowned = find_voices(maps_of((20, 60, 60, "picked"), (85, 150, 60, None), frames=200))
    assert told(drowned) == [(20, 60, "picked")]
    assert drowned[0].last == 150
    apart = find_voices(maps_of((20, 60, 60, "picked"), (85, 150, 62, None), frames=200))
    assert apart[0].last == 60, "another pitch so late is not this note's"
