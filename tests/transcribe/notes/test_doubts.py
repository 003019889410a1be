from dataclasses import replace

import pytest

from tests import signals
from transcribe.notes.doubts import between_targets, doubts_about, doubts_about_take, second_opinion_doubts
from transcribe.notes.note import Bend, Contour, Note
from transcribe.notes.odds import Curve, Odds
from transcribe.notes.weigh import Grounds, Second, confidence_of
from transcribe.settings import NoteSettings

SETTINGS = NoteSettings()
PLAIN = Grounds(
    salience=0.85, strike=0.95, length_s=0.4, octave=0.0, unsteady_cents=1.0, gestures=1.0, softer_db=3.0, off_cents=4.0
)
AGREED = Second(onset=0.95, held=1.0, other=0.0, legato=0.0)
NOTE = Note("n1", 0.0, 0.4, 60, cents=4.0, attack="picked")
# Each weakness alone is enough here, so that the words can be told apart from the learned weights.
STRICT = Odds(
    4.0,
    {
        "octave": Curve((0.2, 0.5), (0.0, -6.0)),
        "pick": Curve((0.5, 0.8), (-6.0, 0.0)),
        "length_s": Curve((0.06, 0.1), (-6.0, 0.0)),
        "salience": Curve((0.4, 0.6), (-6.0, 0.0)),
        "off_cents": Curve((20.0, 40.0), (0.0, -6.0)),
        "unknown": Curve((0.0, 1.0), (0.0, -6.0)),
    },
    0.5,
)
ATTACK_ODDS = Odds(3.0, {"strike": Curve((0.3, 0.6), (-4.0, 0.0))}, 0.5)


def told(note=NOTE, attack=None, **changed):
    return doubts_about(note, replace(PLAIN, **changed).values(), STRICT, SETTINGS, attack=attack)


def said(note=NOTE, attack=None, **changed):
    return " / ".join(doubt.why for doubt in told(note, attack, **changed))


def test_a_plain_note_is_not_doubted():
    assert said(attack=ATTACK_ODDS) == ""


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"octave": 0.8}, "octave lower"),
        ({"strike": 0.4}, "soft start"),
        ({"length_s": 0.05}, "very short"),
        ({"salience": 0.3}, "hard to hear"),
        ({"off_cents": 45.0}, "between two frets"),
        ({"unknown": 1.0}, "no start was heard"),
    ],
)
def test_each_weakness_is_named(changed, words):
    assert words in said(**changed)
    assert {doubt.about for doubt in told(**changed)} == {"note"}


def test_gestures_are_doubted_only_where_there_are_any():
    bent = replace(NOTE, bends=(Bend("bend", 0.1, 0.2, 0.4, 200.0, 199.0),))
    assert "bend or slide" in said(bent, gestures=0.55)
    assert [doubt.about for doubt in told(bent, gestures=0.55)] == ["gesture"]
    assert said(gestures=0.55) == ""


def test_how_a_note_was_begun_is_doubted_where_it_is_not_plain():
    hammered = replace(NOTE, attack="hammer-on")
    assert said(hammered, ATTACK_ODDS, strike=0.3, legato=1.0) == "hammer-on or picked: not plain"
    assert [doubt.about for doubt in told(hammered, ATTACK_ODDS, strike=0.3, legato=1.0)] == ["attack"]
    assert said(hammered, ATTACK_ODDS, strike=0.9, legato=1.0) == ""


@pytest.mark.parametrize(("reached", "doubted"), [(200, False), (152, True), (110, False), (75, True), (55, False)])
def test_a_bend_between_two_targets_is_doubted(reached, doubted):
    bend = Bend("bend", 0.0, 0.1, 0.5, 200.0, reached)
    assert (between_targets(bend, SETTINGS) is not None) == doubted
    assert between_targets(replace(bend, kind="release"), SETTINGS) is None


def test_a_take_without_notes_and_one_without_tuning():
    assert [doubt.why for doubt in doubts_about_take((), 0.0, SETTINGS)] == ["no note was heard"]
    assert "tuned" in doubts_about_take((NOTE,), float("inf"), SETTINGS)[0].why
    assert doubts_about_take((NOTE,), 2.0, SETTINGS) == ()


@pytest.mark.parametrize(
    "worse",
    [
        {"salience": 0.4},
        {"strike": 0.3},
        {"length_s": 0.05},
        {"octave": 0.9},
        {"unsteady_cents": 30.0},
        {"gestures": 0.5},
        {"softer_db": 35.0},
        {"off_cents": 45.0},
    ],
)
def test_whatever_speaks_against_a_note_never_makes_it_surer(worse):
    for second in (None, AGREED):
        plain = replace(PLAIN, second=second)
        assert 0 < confidence_of(replace(plain, **worse)) <= confidence_of(plain) < 1


def test_what_was_learned_tells_a_plain_note_from_a_weak_one():
    """Sure where all speaks for a note, at a loss where all speaks against it."""
    plain = replace(PLAIN, second=AGREED)
    weak = replace(PLAIN, salience=0.25, strike=0.2, octave=0.9, gestures=0.5, second=Second(0.0, 0.0, 1.0, 0.5))
    assert confidence_of(plain) > 0.97
    assert confidence_of(weak) < 0.3
    assert confidence_of(replace(plain, second=Second(0.0, 0.0, 1.0, 0.5))) < 0.5 * confidence_of(plain)


@pytest.mark.parametrize(
    ("midi", "words"), [(57, None), (69, "an octave lower"), (45, "an octave higher"), (60, "3 semitones lower")]
)
def test_a_second_tracker_is_believed_enough_to_doubt(midi, words):
    take = signals.recording(signals.plucked(signals.steady(signals.hz(57), 0.8)))
    note = Note("n1", 0.1, 0.7, midi, contour=Contour(0.1, 0.01, (0.0,) * 50))
    doubts = second_opinion_doubts(take, (note,), 0.0)
    assert [doubt.why for doubt in doubts] == ([] if words is None else [f"a second tracker hears this {words}"])


@pytest.mark.parametrize(("reference_hz", "doubted"), [(440.0, True), (415.3, False)])
def test_a_second_tracker_counts_from_the_same_reference(reference_hz, doubted):
    """The A of an old pitch, a semitone below, sounds where a G sharp stands at 440 Hz."""
    take = signals.recording(signals.plucked(signals.steady(signals.hz(56), 0.8)))
    note = Note("n1", 0.1, 0.7, 57, contour=Contour(0.1, 0.01, (0.0,) * 50))
    assert bool(second_opinion_doubts(take, (note,), 0.0, reference_hz=reference_hz)) == doubted


def test_a_take_of_which_most_is_unsure_is_doubted_as_a_whole():
    """Talk and chords come out as notes with little confidence; the take says so once."""
    unsure = tuple(Note(f"n{i}", i, i + 0.5, 60, confidence=0.6) for i in range(6))
    sure = tuple(replace(note, confidence=0.95) for note in unsure)
    assert any("much of this is unsure" in doubt.why for doubt in doubts_about_take(unsure, 1.0, SETTINGS))
    assert doubts_about_take(sure, 1.0, SETTINGS) == ()
    assert doubts_about_take(unsure[:3], 1.0, SETTINGS) == ()
