"""How a voice that the fretting hand began is told: hammered, pulled off, slid, or picked after all."""

from dataclasses import replace

import numpy as np
import pytest

from transcribe.notes.in_time import Moments
from transcribe.notes.moves import Line
from transcribe.notes.note import Note, Slide
from transcribe.notes.voice_legato import (
    Begun,
    _that_may_meet,
    _Way,
    could_all_pass_on,
    how_begun,
    slid_on,
    with_slides,
)
from transcribe.notes.voices import Voice

HOP_S = 0.0116


def pair(before, after, *, gap=1, begin="legato"):
    """Two voices, the second ``gap`` frames after the first's last."""
    voices, first = [], 10
    for midi, kind in ((np.array(before, float), "picked"), (np.array(after, float), begin)):
        sure = np.ones(midi.size)
        voices.append(Voice(first * HOP_S, first, midi, sure, kind, 0.9, np.full(6, 1 / 6), 0.0))
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


def test_a_slide_that_is_picked_on_arrival_knows_where_it_came_from():
    assert how_begun(*pair([*HELD, 61, 61, 62, 62], [63.0] * 20, begin="picked"))[1] == Begun("picked", 0)


def notes(*each):
    return [Note(f"v{k}", on, off, midi, attack=attack) for k, (on, off, midi, attack) in enumerate(each)]


def test_a_slide_is_told_in_the_note_it_leaves():
    told = notes((0.0, 0.5, 60, "picked"), (0.5, 1.0, 62, "slide"), (1.0, 1.5, 65, "picked"))
    begun = (Begun("picked"), Begun("slide", 0), Begun("picked", 1))
    left, between, reached = with_slides(told, begun, [(0, 0), (1, 1), (2, 2)])
    assert left.slide == Slide("legato", 200.0, "v1")
    assert between.slide == Slide("shift", 300.0, "v2")
    assert reached.slide is None


def test_a_short_note_slid_from_at_once_is_the_way_in():
    told = notes((0.0, 0.07, 60, "picked"), (0.07, 1.0, 62, "slide"))
    (arrived,) = with_slides(told, (Begun("picked"), Begun("slide", 0)), [(0, 0), (1, 1)])
    assert (arrived.midi, arrived.onset_s, arrived.attack, arrived.slide) == (62, 0.0, "picked", Slide("in", 200.0))


def test_a_touch_too_short_to_hear_its_pitch_is_the_way_in_however_the_finger_goes_on():
    told = notes((0.0, 0.05, 61, "picked"), (0.05, 1.0, 62, "hammer-on"))
    (arrived,) = with_slides(told, (Begun("picked"), Begun("hammer-on", 0)), [(0, 0), (1, 1)])
    assert (arrived.midi, arrived.onset_s, arrived.attack) == (62, 0.0, "picked")
    longer = notes((0.0, 0.1, 61, "picked"), (0.1, 1.0, 62, "hammer-on"))
    assert with_slides(longer, (Begun("picked"), Begun("hammer-on", 0)), [(0, 0), (1, 1)]) == longer


def test_a_slide_inside_one_voice_leads_to_its_next_note():
    left, reached = notes((0.0, 0.5, 62, "picked"), (0.5, 1.0, 67, "slide"))
    assert slid_on(left, reached).slide == Slide("legato", 500.0, "v1")
    assert slid_on(left, notes((0.5, 1.0, 62, "slide"))[0]) == left
    came = replace(left, slide=Slide("in", 200.0))
    assert slid_on(came, reached) == came


@pytest.mark.parametrize("onward", ["slide", "hammer-on"])
def test_a_fret_that_a_slide_only_passes_is_no_note(onward):
    told = notes((0.0, 0.5, 62, "picked"), (0.5, 0.54, 68, "slide"), (0.54, 1.0, 69, onward))
    begun = (Begun("picked"), Begun("slide", 0), Begun(onward, 1))
    left, reached = with_slides(told, begun, [(0, 0), (1, 1), (2, 2)])
    assert (left.slide, left.offset_s) == (Slide("legato", 700.0, "v2"), 0.54)
    assert (reached.midi, reached.attack, reached.onset_s) == (69, "slide", 0.54)


def test_a_short_voice_that_is_all_slide_started_where_it_began():
    voices, lines = pair([65, 65, 65.6, 66, 66, 66], [67.0] * 20)
    assert how_begun(voices, lines)[1] == Begun("slide", 0)


def test_a_finger_cannot_reach_an_octave_or_wait():
    assert how_begun(*pair(HELD, [72.0] * 20))[1] == Begun("picked")
    assert how_begun(*pair(HELD, [62.0] * 20, gap=20))[1] == Begun("picked")


def test_what_was_picked_or_cut_stays_so():
    assert how_begun(*pair(HELD, [62.0] * 20, begin="picked"))[1] == Begun("picked")
    assert how_begun(*pair(HELD, [62.0] * 20, begin="unknown"))[1] == Begun("unknown")


def test_two_strings_that_slide_together_keep_apart():
    """A minor third slid up a tone: the voice that ends nearest in time to the upper goal is the lower string's."""
    low = pair([61.0] * 29 + [62.0] * 4, [66.0] * 20)
    high = pair([64.0] * 28 + [65.0] * 4, [63.0] * 20)
    voices = (low[0][0], high[0][0], low[0][1], high[0][1])
    lines = [low[1][0], high[1][0], low[1][1], high[1][1]]
    assert how_begun(voices, lines)[2:] == (Begun("slide", 1), Begun("slide", 0))


@pytest.mark.parametrize(
    ("ended", "begun", "could"),
    [
        ((67, 72), (64, 69), True),  # both fingers come off together
        ((60, 64), (62, 64), False),  # one string is hammered while the other is picked again
        ((60,), (64, 67), False),  # one string cannot go on in two
        ((40, 62, 66), (42, 44, 64), False),  # nor where a third could come from two others
        ((40, 45), (64, 69), False),  # out of any finger's reach
        ((67, 72), (64,), False),
    ],
)
def test_two_strings_are_passed_on_together_where_two_just_ended(ended, begun, could):
    def voice(first, midi):
        return Voice(first * HOP_S, first, np.full(20, float(midi)), np.ones(20), "picked", 0.9, np.full(6, 1 / 6), 0.0)

    before, after = [voice(10, midi) for midi in ended], [voice(30, midi) for midi in begun]
    voices = [*before, *after]
    ends = Moments(each.last * HOP_S for each in voices)
    assert could_all_pass_on(after, voices, ends, HOP_S) is could


def test_hands_far_apart_in_time_are_decided_each_for_itself():
    """Ways that share a source are weighed together, all others apart."""

    def ways(*sources):
        return [_Way(source, 2.0, slid=False) for source in sources]

    met = _that_may_meet({2: ways(0), 3: ways(1, 0), 4: [], 12: ways(10, 11), 13: ways(11)})
    assert [sorted(group) for group in met] == [[2, 3], [12, 13]]
