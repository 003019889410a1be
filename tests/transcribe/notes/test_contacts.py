from dataclasses import replace

import numpy as np

from tests import signals
from transcribe.notes.attack import Strike, envelope
from transcribe.notes.contacts import is_contact, is_new_pick, without_contacts
from transcribe.notes.moves import Line
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()
PICK = Strike(0.5, 0.8, 12.0, 12.0, 3.0)
SOFT = Strike(0.5, 0.26, 1.5, 1.5, -1.0)


def line(before, after):
    midi = np.concatenate((np.full(50, float(before)), np.full(50, float(after))))
    return Line(0.0, 0.01, midi, np.ones(100))


def rings_and_stops(stop_s, again_s):
    """A string that is stopped by a touch and picked again."""
    first = signals.plucked(signals.steady(220.0, 1.5))
    first[round(stop_s * signals.RATE_HZ) :] *= 0.1
    again = signals.plucked(signals.steady(220.0, 1.0))
    return envelope(signals.recording(signals.placed((0.0, first), (again_s, again), seconds=1.5)))


def test_a_plain_pick_starts_a_note_on_any_pitch():
    assert is_new_pick(PICK, line(57, 57), SETTINGS)
    assert is_new_pick(PICK, line(57, 60), SETTINGS)


def test_a_soft_strike_starts_none_where_the_pitch_goes_on():
    assert not is_new_pick(SOFT, line(57, 57), SETTINGS)


def test_swelling_without_an_onset_is_no_pick():
    assert not is_new_pick(replace(PICK, strength=0.18), line(57, 57), SETTINGS)


def test_a_touch_before_the_pick_is_left_out():
    loud = rings_and_stops(0.5, 0.58)
    touch, pick = replace(PICK, strength=0.5), replace(PICK, time_s=0.58)
    assert is_contact(touch, pick, loud, SETTINGS)
    first, rest = without_contacts(Strike(0.0, 0.9, 30.0, 30.0, 30.0), [touch, pick], loud, SETTINGS)
    assert first is not None
    assert rest == [pick]


def test_two_real_picks_are_both_kept():
    again = signals.plucked(signals.steady(220.0, 1.0))
    sound = signals.placed((0.0, again), (0.5, again), (0.62, again), seconds=1.5)
    picks = [PICK, replace(PICK, time_s=0.62)]
    _, rest = without_contacts(Strike(0.0, 0.9, 30.0, 30.0, 30.0), picks, envelope(signals.recording(sound)), SETTINGS)
    assert rest == picks


def test_of_two_strikes_nearer_than_a_hand_can_pick_the_surer_stays():
    loud = rings_and_stops(0.49, 0.5)
    weak = replace(PICK, time_s=0.45, strength=0.3)
    _, rest = without_contacts(Strike(0.0, 0.9, 30.0, 30.0, 30.0), [weak, PICK], loud, SETTINGS)
    assert rest == [PICK]


def test_a_string_stopped_for_good_by_a_soft_touch_was_not_picked_and_by_a_loud_stroke_it_was():
    """A finger laid down hardly sounds; a muted stroke rises before it dies."""
    loud = rings_and_stops(0.5, 2.0)
    assert is_contact(replace(PICK, rise_db=2.0), None, loud, SETTINGS)
    assert not is_contact(replace(PICK, rise_db=12.0), None, loud, SETTINGS)
