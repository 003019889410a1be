"""A line's notes named by the hand that began them."""

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.notes.attack import envelope
from transcribe.notes.lines import Stretch
from transcribe.notes.moves import Line
from transcribe.notes.naming import Sounded
from transcribe.notes.part import Part
from transcribe.notes.touch import FINGER_NAMED, TouchMaps
from transcribe.notes.touch_of_line import with_hands_told

RATE_HZ, HOP_S = 22050, 256 / 22050


def _told(midi, *, picked, legato, attack="picked", gap_s=0.0, which=1):
    line = Line(0.0, 0.01, np.full(100, 60.0), np.ones(100))
    stretch = Stretch(line=line, onset_s=0.0, end_s=1.0, strike=None)
    slide = ("legato", 200.0) if attack == "slide" else None
    parts = (Part(0.1, 0.5 - gap_s, 60, 0.0, "picked", slide=slide), Part(0.5, 0.9, midi, 0.0, attack))
    maps = np.zeros((4, 100, 56), np.uint8)
    frame = round(0.5 / HOP_S)
    maps[0, frame, midi - 36], maps[1, frame, midi - 36] = round(255 * picked), round(255 * legato)
    sound = Recording(np.full(RATE_HZ, 0.1, np.float32), RATE_HZ, 0.0)
    sounded = tuple(Sounded(part, stretch, line, True) for part in parts)
    touch = TouchMaps(0.0, HOP_S, 36, *maps)
    return with_hands_told(sounded, touch, envelope(sound), offset_semitones=0.0)[which].part


def test_a_finger_up_is_a_hammer_on_and_a_finger_off_is_a_pull_off():
    assert _told(62, picked=0.03, legato=0.95).attack == "hammer-on"
    assert _told(57, picked=0.03, legato=0.95).attack == "pull-off"


def test_a_step_that_was_picked_is_no_hammer_on():
    part = _told(62, picked=0.95, legato=0.05, attack="hammer-on")
    assert part.attack == "picked"
    assert part.finger < 0.1


def test_a_slide_and_a_note_after_silence_keep_their_names():
    assert _told(62, picked=0.03, legato=0.95, attack="slide").attack == "slide"
    assert _told(62, picked=0.03, legato=0.95, gap_s=0.2).attack == "picked"


def test_a_slide_that_was_picked_on_arrival_is_none():
    part = _told(62, picked=0.95, legato=0.05, attack="slide")
    assert (part.attack, part.finger < 0.1) == ("picked", True)
    assert _told(62, picked=0.95, legato=0.05, attack="slide", which=0).slide is None
    assert _told(62, picked=0.03, legato=0.95, attack="slide", which=0).slide == ("legato", 200.0)


def test_a_finger_that_is_nearly_as_likely_as_a_pick_is_named_and_less_than_even_sure():
    told = [_told(62, picked=0.4, legato=share) for share in np.linspace(0.02, 0.98, 97)]
    near = [part for part in told if FINGER_NAMED <= part.finger < 0.5]
    assert near, "some of these starts are nearly even"
    assert {(part.attack, part.sure == part.finger) for part in near} == {("hammer-on", True)}
    assert {part.attack for part in told if part.finger < FINGER_NAMED} == {"picked"}
