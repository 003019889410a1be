from dataclasses import replace

import numpy as np

from tests.notes_drawn import drawn_evidence, held
from transcribe.notes.attack import Strike
from transcribe.notes.starts import faint_strands, mend_leaps, share_strikes, struck_at_pitch, struck_by
from transcribe.notes.track import Strand
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()
EVIDENCE = drawn_evidence(seconds=2.0, onsets_s=[0.5])
PICK = Strike(0.5, 0.9, 20.0, 20.0, 10.0)


def strand(first, midi, frames=40):
    return Strand(first, np.full(frames, float(midi)), np.full(frames, 0.9))


def test_a_strand_shows_a_little_after_its_strike():
    assert struck_by(strand(53, 60), (PICK,), EVIDENCE, SETTINGS) is PICK
    assert struck_by(strand(80, 60), (PICK,), EVIDENCE, SETTINGS) is None


def test_an_octave_leap_that_nobody_struck_is_put_back():
    low, ghost, after = strand(10, 57), strand(50, 69, 20), strand(70, 57)
    mended = mend_leaps((low, ghost, after), (), EVIDENCE, SETTINGS)
    assert [round(float(each.midi[0])) for each in mended] == [57, 57, 57]


def test_an_octave_leap_that_was_struck_stays():
    mended = mend_leaps((strand(10, 57), strand(51, 69)), (PICK,), EVIDENCE, SETTINGS)
    assert round(float(mended[1].midi[0])) == 69


def test_the_noise_of_an_attack_gives_way_to_the_note():
    noise, note = strand(50, 84, 5), strand(55, 60)
    assert share_strikes((noise, note), (PICK,), EVIDENCE, SETTINGS) == ((note, PICK),)


def test_a_note_keeps_its_strike_from_what_follows():
    note, later = strand(50, 60, 8), strand(58, 64)
    assert share_strikes((note, later), (PICK,), EVIDENCE, SETTINGS) == ((note, PICK), (later, None))


def test_strings_struck_together_share_a_strike():
    low, high = strand(50, 48), strand(50, 60)
    assert share_strikes((low, high), (PICK,), EVIDENCE, SETTINGS) == ((low, PICK), (high, PICK))


def test_an_onset_map_over_pitches_tells_whose_strike_it_was():
    evidence = drawn_evidence(seconds=1.0, onset_bins=[(0.5, 64.0)])
    assert struck_at_pitch(PICK, 64.0, evidence, reach_s=0.03)
    assert not struck_at_pitch(PICK, 52.0, evidence, reach_s=0.03)
    assert struck_at_pitch(PICK, 52.0, EVIDENCE, reach_s=0.03)  # a map for all pitches cannot tell


def test_a_plain_pick_with_a_faint_pitch_makes_a_strand():
    faint = drawn_evidence((0.5, held(40, 0.2), 0.12), seconds=1.0, onsets_s=[0.5])
    ((made, strike),) = faint_strands((), (PICK,), faint, SETTINGS)
    assert strike is PICK
    assert round(float(made.midi[0])) == 40
    assert faint_strands((), (replace(PICK, strength=0.1, rise_db=1.0),), faint, SETTINGS) == ()
    assert faint_strands((), (PICK,), EVIDENCE, SETTINGS) == ()
