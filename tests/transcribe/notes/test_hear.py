"""Short plucked licks of known pitch and time, through the network, to notes."""

from dataclasses import replace

import numpy as np
import pytest

from tests import signals
from tests.notes_drawn import drawn_evidence, held
from transcribe.evidence.crepe import crepe_evidence
from transcribe.notes.attack import Strike
from transcribe.notes.hear import _picked_next, hear_notes
from transcribe.notes.lines import Stretch
from transcribe.notes.moves import Line
from transcribe.settings import Settings

SETTINGS = Settings()


def pluck(pitch_hz, seed=0):
    damped = signals.plucked(pitch_hz, phase_seed=seed)
    damped[-400:] *= np.linspace(1, 0, 400)
    return damped


def lick(shift=0.0):
    """A plain note, a whole-step bend, a hammer-on: from 0.2, 0.7 and 1.5 s."""
    hammered = np.concatenate(
        (signals.steady(signals.hz(57 + shift), 0.3), signals.steady(signals.hz(60 + shift), 0.4))
    )
    bent = signals.bend(signals.hz(62 + shift), 200.0, 0.75, start_s=0.15, reach_s=0.3)
    plain = signals.steady(signals.hz(60 + shift), 0.45)
    sound = signals.placed((0.2, pluck(plain, 1)), (0.7, pluck(bent, 2)), (1.5, pluck(hammered, 3)), seconds=2.5)
    return signals.recording(signals.in_noise(sound, 50))


def heard(take, **given):
    return hear_notes(take, crepe_evidence(take, SETTINGS.evidence), SETTINGS, **given)


@pytest.fixture(scope="module")
def plain():
    return heard(lick())


def test_pitches_times_and_names(plain):
    assert [(note.id, note.midi) for note in plain.notes] == [("n1", 60), ("n2", 62), ("n3", 57), ("n4", 60)]
    for note, onset_s in zip(plain.notes, (0.2, 0.7, 1.5, 1.8), strict=True):
        assert abs(note.onset_s - onset_s) < 0.025


def test_gestures(plain):
    (bend,) = plain.notes[1].bends
    assert (bend.kind, bend.target_cents) == ("bend", 200.0)
    assert abs(bend.error_cents) < 2
    assert [note.attack for note in plain.notes] == ["picked", "picked", "picked", "hammer-on"]


def test_plain_notes_are_sure_and_not_doubted(plain):
    assert min(note.confidence for note in plain.notes) > 0.9
    assert plain.doubts == ()
    assert abs(plain.tuning_offset_cents) < 2


def test_the_contour_tells_cents_from_the_fretted_pitch(plain):
    contour = plain.notes[1].contour
    known = [cents for cents in contour.cents if cents is not None]
    assert abs(np.median(known[:8])) < 3
    assert abs(np.median(known[-20:-8]) - 200) < 3


@pytest.mark.parametrize("shift", [5, -8])
def test_transposing_the_take_transposes_the_notes(plain, shift):
    moved = heard(lick(shift))
    assert [note.midi - shift for note in moved.notes] == [note.midi for note in plain.notes]
    assert [note.attack for note in moved.notes] == [note.attack for note in plain.notes]


def test_a_guitar_out_of_tune_is_told_once_and_not_at_every_note():
    sharp = heard(lick(0.27))
    assert abs(sharp.tuning_offset_cents - 27) < 2
    assert [note.midi for note in sharp.notes] == [60, 62, 57, 60]
    assert all(abs(note.cents) < 3 for note in sharp.notes)


def test_another_reference_pitch_moves_the_offset():
    assert abs(heard(lick(), reference_hz=signals.hz(69, -20)).tuning_offset_cents - 20) < 2


def test_silence_is_no_notes_and_one_doubt():
    nothing = heard(signals.recording(np.zeros(22050)))
    assert nothing.notes == ()
    assert [doubt.why for doubt in nothing.doubts] == ["no note was heard"]


def test_a_map_of_two_voices_gives_notes_of_both():
    """Another network may draw many voices: here by hand, over the sound of two strings."""
    low, high = signals.steady(signals.hz(52), 0.9), signals.steady(signals.hz(64.0), 0.5)
    take = signals.recording(signals.placed((0.1, pluck(low)), (0.5, pluck(high)), seconds=1.2))
    evidence = drawn_evidence(
        (0.1, held(52, 0.88), 0.8), (0.5, held(64, 0.48), 0.9), seconds=1.2, onset_bins=[(0.1, 52), (0.5, 64)]
    )
    two = replace(SETTINGS, notes=replace(SETTINGS.notes, max_voices=2))
    notes = hear_notes(take, evidence, two).notes
    assert [(note.midi, round(note.onset_s, 1)) for note in notes] == [(52, 0.1), (64, 0.5)]
    assert notes[0].offset_s > 0.9


def test_a_passage_from_the_middle_of_a_file_keeps_the_files_clock(plain):
    take = lick()
    later = heard(replace(take, start_s=7.0))
    assert [note.midi for note in later.notes] == [note.midi for note in plain.notes]
    for a, b in zip(later.notes, plain.notes, strict=True):
        assert abs(a.onset_s - b.onset_s - 7.0) < 0.011
        assert abs(a.contour.start_s - b.contour.start_s - 7.0) < 0.011


@pytest.mark.parametrize("seconds", [0.005, 0.03, 0.12])
def test_very_short_takes_break_nothing(seconds):
    sound = signals.plucked(signals.steady(220.0, seconds))
    assert len(heard(signals.recording(sound)).notes) <= 1


def test_noise_is_no_notes():
    hiss = signals.recording(0.1 * np.random.default_rng(5).standard_normal(2 * signals.RATE_HZ))
    assert len(heard(hiss).notes) == 0


@pytest.mark.parametrize(("rest_s", "midi"), [(0.05, 62.0), (0.5, None)])
def test_a_slide_goes_on_into_a_picked_note_only_without_a_rest(rest_s, midi):
    """A slide out before a rest leads nowhere, whatever is picked after it."""

    def stretch(onset_s, pitch):
        line = Line(onset_s, 0.01, np.full(40, pitch), np.ones(40))
        return Stretch(line, onset_s, onset_s + 0.4, Strike(onset_s, 0.9, 20.0, 20.0, 10.0))

    both = (stretch(0.1, 57.0), stretch(0.5 + rest_s, 62.0))
    assert _picked_next(both, [each.line for each in both], 0, SETTINGS.notes) == midi
