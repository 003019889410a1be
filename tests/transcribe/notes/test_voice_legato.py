"""How a voice that the fretting hand began is told: hammered, pulled off, slid, or picked after all."""

import numpy as np
import pytest

from transcribe.notes.moves import Line
from transcribe.notes.voice_legato import Begun, how_begun
from transcribe.notes.voices import Voice

HOP_S = 0.0116


def pair(before, after, *, gap=1, begin="legato"):
    """Two voices, the second ``gap`` frames after the first's last."""
    voices, first = [], 10
    for midi, kind in ((np.array(before, float), "picked"), (np.array(after, float), begin)):
        sure = np.ones(midi.size)
        voices.append(Voice(first * HOP_S, first, midi, sure, kind, 0.9, np.full(6, 1 / 6), 0.0, 0.0))
        first += midi.size + gap - 1
    lines = [Line(v.first * HOP_S, HOP_S, v.midi, v.contour) for v in voices]
    return tuple(voices), lines


HELD = [60.0] * 30


@pytest.mark.parametrize(
    ("before", "after", "begun"),
    [
        (HELD, [62.0] * 20, Begun("hammer-on", 0)),
        (HELD, [58.0] * 20, Begun("pull-off", 0)),
        ([*HELD, 61, 61, 61], [62.0] * 20, Begun("slide", 0)),
        ([*HELD, 59, 59, 58, 58], [57.0] * 20, Begun("slide", 0)),
        ([*HELD, 60.2, 60.3], [62.0] * 20, Begun("hammer-on", 0)),
    ],
)
def test_frets_on_the_way_tell_a_slide(before, after, begun):
    assert how_begun(*pair(before, after)) == (Begun("picked"), begun)


def test_a_finger_cannot_reach_an_octave_or_wait():
    assert how_begun(*pair(HELD, [72.0] * 20))[1] == Begun("picked")
    assert how_begun(*pair(HELD, [62.0] * 20, gap=20))[1] == Begun("picked")


def test_what_was_picked_or_cut_stays_so():
    assert how_begun(*pair(HELD, [62.0] * 20, begin="picked"))[1] == Begun("picked")
    assert how_begun(*pair(HELD, [62.0] * 20, begin="unknown"))[1] == Begun("unknown")
