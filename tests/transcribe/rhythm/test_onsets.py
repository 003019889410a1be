from dataclasses import replace

from transcribe.notes.note import Note
from transcribe.rhythm.onsets import moments
from transcribe.settings import RhythmSettings

SETTINGS = RhythmSettings()


def note(name, onset_s, midi, **told):
    return Note(name, onset_s, onset_s + 0.5, midi, **told)


def test_notes_struck_together_are_one_moment():
    chord = [note("a", 1.0, 52), note("b", 1.01, 59), note("c", 1.02, 64), note("d", 1.5, 64)]
    assert [moment.ids for moment in moments(chord, SETTINGS)] == [("a", "b", "c"), ("d",)]


def test_a_slow_stroke_over_the_strings_is_one_moment_and_a_run_is_not():
    strum = [note(str(k), 1.0 + 0.022 * k, 40 + 5 * k) for k in range(5)]
    assert len(moments(strum, SETTINGS)) == 1
    run = [note(str(k), 1.0 + 0.06 * k, 40 + 5 * k) for k in range(5)]
    assert len(moments(run, SETTINGS)) == 5
    brushed = [note(str(k), 1.0 + 0.035 * k, 40 + 5 * k) for k in range(6)]
    assert [len(moment.notes) for moment in moments(brushed, SETTINGS)] == [3, 3], "more than one stroke's time"


def test_a_hammered_note_is_a_moment_of_its_own_however_close():
    assert len(moments([note("a", 1.0, 57), note("b", 1.02, 59, attack="hammer-on")], SETTINGS)) == 2


def test_two_fingers_that_land_at_once_are_one_moment():
    slid = [note("a", 1.0, 57, attack="slide"), note("b", 1.002, 62, attack="slide")]
    assert [moment.ids for moment in moments(slid, SETTINGS)] == [("a", "b")]


def test_the_same_pitch_twice_is_two_strikes():
    assert len(moments([note("a", 1.0, 57), note("b", 1.02, 57)], SETTINGS)) == 2


def test_legato_tells_less_of_the_beat_and_may_stray_further():
    picked, pulled = moments([note("a", 1.0, 60), note("b", 1.5, 57, attack="pull-off")], SETTINGS)
    assert pulled.weight == 0.5 * picked.weight
    assert pulled.jitter_s > picked.jitter_s


def test_quiet_and_doubtful_notes_tell_less():
    loud = note("a", 1.0, 60, level_db=-10.0, confidence=1.0)
    quiet = replace(loud, id="b", onset_s=1.5, offset_s=2.0, level_db=-40.0)
    unsure = replace(loud, id="c", onset_s=2.0, offset_s=2.5, confidence=0.2)
    weights = [moment.weight for moment in moments([loud, quiet, unsure], SETTINGS)]
    assert weights[0] == 1.0
    assert weights[1] == 0.5
    assert abs(weights[2] - 0.4) < 1e-9


def test_a_doubtful_start_may_be_further_off():
    sure, unsure = moments([note("a", 1.0, 60, confidence=1.0), note("b", 1.5, 60, confidence=0.25)], SETTINGS)
    assert unsure.jitter_s == 1.75 * sure.jitter_s


def test_no_notes_no_moments():
    assert moments([], SETTINGS) == ()
