from dataclasses import replace

import numpy as np

from tests import signals
from transcribe.notes.attack import Strike, envelope
from transcribe.notes.mutes import Decay, harmonic_of, is_knock, measure_decay, mute_of
from transcribe.notes.note import Bend, Note, Slide
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()


def decay(**pluck):
    return measure_decay(envelope(signals.recording(signals.plucked(signals.steady(110.0, 0.5), **pluck))), 0.0, 0.4)


def mute(found, salience=0.9, picked=True, usual_dull_db=-10.0, palm=None):
    return mute_of(found, usual_dull_db=usual_dull_db, salience=salience, picked=picked, settings=SETTINGS, palm=palm)


def test_the_slope_of_a_tone_with_known_decay():
    one = decay(partials=1, decay_s=2.0)  # 60 dB in 2 s
    assert abs(one.db_per_s + 30.0) < 2.0


def test_open_notes_are_not_muted():
    assert mute(decay(decay_s=4.0)) == "none"


def test_a_short_dull_note_is_palm_muted():
    assert mute(decay(decay_s=0.7, partials=4)) == "palm"


def test_a_short_bright_note_is_not():
    assert mute(Decay(db_per_s=-40.0, dull_db=-8.0)) == "none"


def test_a_dull_guitar_is_not_muted_throughout():
    assert mute(Decay(db_per_s=-30.0, dull_db=-24.0), usual_dull_db=-23.0) == "none"


def test_a_knock_without_pitch_is_dead():
    assert mute(Decay(db_per_s=-250.0, dull_db=-12.0), salience=0.3) == "dead"


def test_the_network_knows_a_palm_under_distortion_and_none_on_a_telephone():
    assert mute(Decay(db_per_s=-5.0, dull_db=-12.0), palm=0.97) == "palm"
    assert mute(Decay(db_per_s=-60.0, dull_db=-30.0), palm=0.1) == "none"
    assert mute(Decay(db_per_s=-250.0, dull_db=-12.0), salience=0.3, palm=0.1) == "dead"
    assert mute(Decay(db_per_s=-150.0, dull_db=-12.0), salience=0.5, palm=0.95) == "palm"
    assert mute(Decay(db_per_s=-370.0, dull_db=-12.0), salience=0.08, palm=0.99) == "dead"


def test_a_hammered_note_is_never_palm_muted():
    assert mute(Decay(db_per_s=-60.0, dull_db=-30.0), picked=False) == "none"


def test_a_burst_of_noise_is_a_knock_and_a_note_is_not():
    rng = np.random.default_rng(3)
    burst = rng.standard_normal(1200) * np.exp(-np.arange(1200) / 200) * 0.3
    strike = Strike(0.3, 0.9, 30.0, 30.0, -10.0)
    assert is_knock(strike, envelope(signals.recording(signals.placed((0.3, burst), seconds=0.8))), SETTINGS)
    note = signals.plucked(signals.steady(220.0, 0.5))
    assert not is_knock(strike, envelope(signals.recording(signals.placed((0.3, note), seconds=0.8))), SETTINGS)


def test_a_knock_out_of_a_ringing_string_needs_silence_after_it():
    rng = np.random.default_rng(3)
    ringing = 0.2 * np.sin(2 * np.pi * 220 * np.arange(round(0.3 * signals.RATE_HZ)) / signals.RATE_HZ)
    burst = 0.2 * rng.standard_normal(1200) * np.exp(-np.arange(1200) / 200)
    strike = Strike(0.3, 0.9, 2.0, 6.0, -40.0)  # hardly louder than the string before it
    cut = signals.placed((0.0, ringing), (0.3, burst), seconds=0.8)
    assert is_knock(strike, envelope(signals.recording(cut)), SETTINGS)
    goes_on = signals.placed((0.0, ringing), (0.3, burst), (0.3, ringing), seconds=0.8)
    assert not is_knock(strike, envelope(signals.recording(goes_on)), SETTINGS)


def test_a_harmonic_is_named_when_likely_and_doubted_between():
    note = Note("n1", 0.5, 1.0, 64, attack="picked")
    assert harmonic_of(0.1, note) == ("none", None)
    assert harmonic_of(0.97, note) == ("natural", None)
    told, unsure = harmonic_of(0.65, note)
    assert told == "natural"
    assert unsure == harmonic_of(0.5, note)[1] is not None
    assert harmonic_of(0.5, note)[0] == "none"


def test_a_touched_string_is_neither_bent_nor_hammered_nor_muted():
    bend = Bend("bend", 0.6, 0.7, 0.9, 200.0, 200.0)
    for change in ({"attack": "hammer-on"}, {"mute": "palm"}, {"bends": (bend,)}, {"slide": Slide("out", -200.0)}):
        note = replace(Note("n1", 0.5, 1.0, 64, attack="picked"), **change)
        assert harmonic_of(0.99, note) == ("none", None)
