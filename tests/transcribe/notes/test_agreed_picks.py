"""Weak strikes believed where the several-voices network heard the same string picked again."""

from dataclasses import replace

import numpy as np

from tests.signals import hz, placed, plucked, recording, steady
from transcribe.evidence.network import voice_maps
from transcribe.notes.agreed_picks import with_picks_agreed as agreed
from transcribe.notes.attack import Strike
from transcribe.notes.voices import Voice
from transcribe.notes.weigh import Voices, heard_voices
from transcribe.settings import NoteSettings

HOP_S = 0.01
WEAK = Strike(1.02, 0.28, 1.5, 3.0, 0.3)


def voice(onset_s, end_s, midi=69.0, begin="picked", sure=0.8):
    count = round((end_s - onset_s) / HOP_S)
    pitch = np.full(count, midi)
    return Voice(onset_s, round(onset_s / HOP_S), pitch, np.ones(count), begin, sure, np.full(6, 1 / 6), 0.0)


def second(*voices):
    sound = recording(placed((0.1, plucked(steady(hz(69), 0.3))), seconds=0.5))
    plain = heard_voices(voice_maps(sound), ())
    first = np.array([each.first for each in voices], dtype=np.int64)
    last = np.array([each.last for each in voices], dtype=np.int64)
    return Voices(0.0, HOP_S, voices, first, last, plain.touch)


RANG = voice(0.4, 1.0)


def with_picks_agreed(strikes, other):
    return agreed(strikes, other, NoteSettings())


def test_a_weak_strike_where_the_same_pitch_is_picked_again_is_as_strong_as_the_network_is_sure():
    told = with_picks_agreed((WEAK,), second(RANG, voice(1.0, 1.5)))
    assert told == (replace(WEAK, time_s=1.0, strength=0.8),)
    assert told[0].pick_likelihood > 0.9 > 0.4 > WEAK.pick_likelihood


def test_it_stays_weak_where_the_network_heard_nothing_or_was_unsure_or_heard_a_finger():
    assert with_picks_agreed((WEAK,), None) == (WEAK,)
    assert with_picks_agreed((WEAK,), second(RANG)) == (WEAK,)
    for other in (voice(1.0, 1.5, sure=0.5), voice(1.0, 1.5, begin="legato"), voice(1.2, 1.5)):
        assert with_picks_agreed((WEAK,), second(RANG, other)) == (WEAK,)


def test_a_pitch_that_did_not_sound_before_is_told_by_the_pitch():
    assert with_picks_agreed((WEAK,), second(voice(0.4, 0.8), voice(1.0, 1.5))) == (WEAK,)
    assert with_picks_agreed((WEAK,), second(RANG, voice(1.0, 1.5, midi=71.0))) == (WEAK,)


def test_of_two_strikes_the_likelier_is_the_pick_and_a_strong_one_stays():
    touch = Strike(0.96, 0.1, 0.0, 1.0, -2.0)
    told = with_picks_agreed((touch, WEAK), second(RANG, voice(1.0, 1.5)))
    assert [(strike.time_s, strike.strength) for strike in told] == [(0.96, 0.1), (1.0, 0.8)]
    strong = replace(WEAK, strength=0.5)
    assert with_picks_agreed((strong,), second(RANG, voice(1.0, 1.5))) == (strong,)


def test_strikes_stay_in_order_of_time():
    other = Strike(1.01, 0.2, 0.0, 0.0, 0.0)
    told = with_picks_agreed((other, WEAK), second(RANG, voice(1.0, 1.5)))
    assert [strike.time_s for strike in told] == [1.0, 1.01]
