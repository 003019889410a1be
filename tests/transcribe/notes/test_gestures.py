"""What a player did, read from a pitch line and the tone it was measured on."""

import numpy as np
import pytest

from tests import signals
from transcribe.notes.gestures import read_parts
from transcribe.notes.moves import Line
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()
HOP_S = 0.01


def ease(t, start_s, reach_s):
    return 0.5 - 0.5 * np.cos(np.pi * np.clip((t - start_s) / (reach_s - start_s), 0, 1))


def parts(midi_of_time, *, seconds=1.2, picked=True, next_midi=None, offset_cents=0.0, first=2):
    t = np.arange(round(seconds * signals.RATE_HZ)) / signals.RATE_HZ
    midi = midi_of_time(t) + 0.0 * t
    take = signals.recording(signals.plucked(440 * 2 ** ((midi + offset_cents / 100 - 69) / 12)))
    frames = np.arange(first, round(seconds / HOP_S) - 1)
    seen = midi[(frames * HOP_S * signals.RATE_HZ).astype(int)]
    return read_parts(
        Line(first * HOP_S, HOP_S, seen, np.full(seen.size, 0.9)),
        onset_s=0.0,
        end_s=seconds,
        picked=picked,
        next_midi=next_midi,
        recording=take,
        offset_semitones=offset_cents / 100,
        settings=SETTINGS,
    )


def test_a_held_note_is_one_plain_note():
    (note,) = parts(lambda t: 60.04 + 0 * t)
    assert (note.midi, note.attack, note.bends, note.slide, note.vibrato) == (60, "picked", (), None, None)
    assert note.rest_cents == pytest.approx(4.0, abs=0.5)


@pytest.mark.parametrize(
    ("cents", "target"), [(45, 50), (62, 50), (96, 100), (110, 100), (190, 200), (207, 200), (295, 300), (390, 400)]
)
def test_a_bend_is_one_note_at_its_fretted_pitch(cents, target):
    (note,) = parts(lambda t: 62 + cents / 100 * ease(t, 0.2, 0.36))
    (bend,) = note.bends
    assert (note.midi, bend.kind, bend.target_cents) == (62, "bend", target)
    assert abs(bend.reached_cents - cents) < 2
    assert abs(bend.start_s - 0.2) < 0.03
    assert abs(bend.reach_s - 0.36) < 0.04


def test_the_tuning_offset_changes_no_gesture():
    plain = parts(lambda t: 62 + 2 * ease(t, 0.2, 0.36))
    sharp = parts(lambda t: 62 + 2 * ease(t, 0.2, 0.36), offset_cents=31.0)
    assert [(p.midi, [b.kind for b in p.bends]) for p in plain] == [(p.midi, [b.kind for b in p.bends]) for p in sharp]


def test_bend_release_and_bend_again():
    (note,) = parts(lambda t: 64 + 2 * (ease(t, 0.15, 0.3) - ease(t, 0.45, 0.6) + ease(t, 0.75, 0.9)), seconds=1.3)
    assert [(bend.kind, bend.target_cents) for bend in note.bends] == [("bend", 200), ("release", 0), ("bend", 200)]
    assert note.midi == 64


def test_a_bend_made_before_the_pick_starts_at_its_target():
    (note,) = parts(lambda t: 66 - 2 * ease(t, 0.3, 0.48))
    assert note.midi == 64
    assert [(bend.kind, bend.target_cents) for bend in note.bends] == [("pre-bend", 200), ("release", 0)]
    assert note.bends[0].start_s == note.bends[0].reach_s == 0.0


def test_vibrato_on_a_held_bend_is_both():
    (note,) = parts(
        lambda t: 62 + 2 * ease(t, 0.15, 0.3) + np.where(t > 0.5, 0.3 * np.sin(2 * np.pi * 5 * (t - 0.5)), 0),
        seconds=1.6,
    )
    assert [bend.target_cents for bend in note.bends] == [200]
    assert abs(note.bends[0].reached_cents - 200) < 6
    assert note.vibrato is not None
    assert abs(note.vibrato.rate_hz - 5) < 0.4
    assert abs(note.vibrato.extent_cents - 30) < 5


@pytest.mark.parametrize(("size", "attack"), [(2, "hammer-on"), (-3, "pull-off")])
def test_hammer_on_and_pull_off(size, attack):
    first, second = parts(lambda t: 64 + size * (t > 0.5))
    assert (first.midi, first.attack, first.slide) == (64, "picked", None)
    assert (second.midi, second.attack) == (64 + size, attack)
    assert abs(second.onset_s - 0.5) < 0.015


@pytest.mark.parametrize("frets", [2, 4, -3])
def test_a_legato_slide_is_two_notes(frets):
    first, second = parts(lambda t: 62 + np.sign(frets) * np.clip(np.floor((t - 0.4) / 0.03) + 1, 0, abs(frets)))
    assert (first.midi, second.midi, second.attack) == (62, 62 + frets, "slide")
    assert first.slide is not None
    assert first.slide[0] == "legato"
    assert abs(second.onset_s - (0.4 + 0.03 * (abs(frets) - 1))) < 0.03


def test_a_slide_in_from_below_is_one_note():
    (note,) = parts(lambda t: 60 + np.clip(np.floor(t / 0.03), 0, 3))
    assert note.midi == 63
    assert note.slide is not None
    assert note.slide[0] == "in"
    assert note.slide[1] > 0


def test_a_slide_out_is_one_note():
    (note,) = parts(lambda t: 67 - np.clip(np.floor((t - 1.05) / 0.03) + 1, 0, 5))
    assert note.midi == 67
    assert note.slide is not None
    assert note.slide[0] == "out"
    assert note.slide[1] < 0


def test_a_slide_into_the_next_pick_is_a_shift():
    (note,) = parts(lambda t: 60 + np.clip(np.floor((t - 1.11) / 0.03) + 1, 0, 3), next_midi=63.0)
    assert note.midi == 60
    assert note.slide == ("shift", 300.0)


def test_a_fall_below_the_fret_after_a_bend_is_a_release_and_a_pull_off():
    first, second = parts(lambda t: 64 + 2 * ease(t, 0.15, 0.3) - 4 * ease(t, 0.6, 0.75))
    assert [bend.kind for bend in first.bends] == ["bend", "release"]
    assert (first.midi, second.midi) == (64, 62)


@pytest.mark.parametrize("shift", [-7, 5, 12])
def test_gestures_move_with_the_music(shift):
    def lick(t):
        return 62 + 2 * ease(t, 0.2, 0.36) - 2 * ease(t, 0.6, 0.76)

    here, there = parts(lick), parts(lambda t: lick(t) + shift)
    assert [note.midi + shift for note in here] == [note.midi for note in there]
    for a, b in zip(here, there, strict=True):
        assert [(x.kind, x.target_cents) for x in a.bends] == [(x.kind, x.target_cents) for x in b.bends]


def test_a_pitch_on_its_way_from_the_note_before_is_no_gesture():
    for begins in (-1.0, 0.8, 1.1):  # semitones from the note, for the first moments after the pick
        (note,) = parts(lambda t, begins=begins: 57 + begins * (1 - ease(t, 0.0, 0.045)), seconds=0.6, first=0)
        assert (note.midi, note.bends, note.slide) == (57, (), None)


def test_a_pitch_that_darts_off_as_the_note_breaks_off_is_no_gesture():
    for darts in (1.0, 2.0):
        (note,) = parts(lambda t, darts=darts: 62 + darts * ease(t, 0.665, 0.7), seconds=0.71)
        assert (note.midi, note.bends, note.slide) == (62, (), None)
    (note,) = parts(lambda t: 62 + 2 * ease(t, 0.1, 0.25) - ease(t, 0.665, 0.7), seconds=0.71)
    assert [bend.kind for bend in note.bends] == ["bend"]


def test_a_low_note_may_take_longer_to_come_to_rest():
    (note,) = parts(lambda t: 42 + 1.1 * (1 - ease(t, -0.01, 0.06)), seconds=0.6, first=0)
    assert (note.midi, note.bends) == (42, ())


def test_a_pitch_that_sags_back_in_small_steps_was_not_bent():
    (note,) = parts(lambda t: 60 + 0.4 * ease(t, 0.2, 0.26) - 0.305 * ease(t, 0.34, 0.4))
    assert (note.midi, note.bends) == (60, ())


def test_a_bend_that_stood_before_it_waved_is_measured_where_it_stood():
    (note,) = parts(
        lambda t: 62 + 2 * ease(t, 0.1, 0.25) - 0.2 * (t > 0.45) * (1 - np.cos(2 * np.pi * 5 * (t - 0.45))), seconds=1.5
    )
    assert note.vibrato is not None
    assert abs(note.bends[0].reached_cents - 200) < 3  # the middle of the wave lies 20 cents lower


@pytest.mark.parametrize("rest_cents", [12.0, 20.0, -15.0])
@pytest.mark.parametrize("stood_s", [0.04, 0.06])
def test_a_release_that_stands_for_a_moment_is_told_where_it_stood(rest_cents, stood_s):
    """Let down not quite to the fret, then pulled off: what it reached is measured, not taken for granted."""
    left = rest_cents / 100
    off_s = 0.36 + stood_s
    first, second = parts(
        lambda t: (
            64
            + 0.75 * ease(t, 0.2, 0.28)
            - (0.75 - left) * ease(t, 0.3, 0.36)
            - (2 + left) * ease(t, off_s, off_s + 0.03)
        )
    )
    assert (first.midi, second.midi) == (64, 62)
    assert [bend.kind for bend in first.bends] == ["bend", "release"]
    assert first.bends[1].target_cents == 0
    assert first.bends[1].reached_cents == pytest.approx(rest_cents, abs=2)
    assert first.bends[1].reach_s == pytest.approx(0.36, abs=0.02)
