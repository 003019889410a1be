"""Takes of many minutes are heard a passage at a time, with the notes of the whole."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fixtures.render import HERE, write_flac
from transcribe import listening
from transcribe.audio.read import read_recording
from transcribe.audio.recording import Recording
from transcribe.choices import TakeChoices
from transcribe.errors import ReadError, TakeError
from transcribe.long_take import Listened, beginning_in, check_length, joined, meeting_s
from transcribe.notes.doubts import doubts_about_take
from transcribe.notes.hear import Heard
from transcribe.notes.note import Contour, Doubt, Note, Slide
from transcribe.rhythm import BeatTimes
from transcribe.settings import Settings

RATE_HZ = 8000


def passage(*notes, tuning=0.0, error=math.inf, doubts=(), remarks=(), start_s=0.0, end_s=10.0):
    return Listened(Heard(notes, tuning, doubts, {}, error), tuple(() for _ in notes), remarks, None, start_s, end_s)


def test_passages_meet_in_the_rest_between_two_phrases():
    sound = np.sin(2 * np.pi * 220 * np.arange(20 * RATE_HZ) / RATE_HZ).astype(np.float32)
    sound[12 * RATE_HZ : int(12.4 * RATE_HZ)] *= 0.001
    assert 102.0 < meeting_s(Recording(sound, RATE_HZ, start_s=90.0), 108.0) < 102.4


def test_a_passage_keeps_the_notes_that_begin_in_it_and_what_is_said_of_them():
    notes = (Note("n1", 0.5, 1.0, 60), Note("n2", 2.0, 3.0, 62), Note("n3", 4.0, 5.0, 64))
    doubts = (Doubt("of the take"), Doubt("early", "n1"), Doubt("inside", "n2"))
    kept = beginning_in(passage(*notes, doubts=doubts), 1.5, 4.0)
    assert [note.id for note in kept.heard.notes] == ["n2"]
    assert [doubt.why for doubt in kept.heard.doubts] == ["of the take", "inside"]
    assert (kept.start_s, kept.end_s) == (1.5, 4.0)


def test_notes_of_two_passages_stand_in_one_row_with_slides_and_doubts_on_the_right_ones():
    first = passage(Note("n1", 1.0, 2.0, 60), doubts=(Doubt("first", "n1"),), remarks=("Hum at -40 dB.",), end_s=10.0)
    sliding = Note("n1", 11.0, 12.0, 62, slide=Slide("legato", 200, "n2"))
    second = passage(
        sliding, Note("n2", 12.0, 13.0, 64), doubts=(Doubt("last", "n2"),), remarks=("Hum at -41 dB.",),
        start_s=10.0, end_s=20.0,
    )  # fmt: skip
    take = joined((first, second))
    assert [(note.id, note.midi) for note in take.heard.notes] == [("n1", 60), ("n2", 62), ("n3", 64)]
    assert take.heard.notes[1].slide.to == "n3"
    assert {(doubt.why, doubt.note) for doubt in take.heard.doubts} == {("first", "n1"), ("last", "n3")}
    assert take.remarks == ("Hum at -40 dB.",)
    assert (take.start_s, take.end_s) == (0.0, 20.0)


def test_a_click_goes_on_from_passage_to_passage_and_begins_bars_only_before_the_playing():
    silent, tells = passage(), BeatTimes((1.0, 1.5, 2.0), True, "click")
    first = replace(passage(Note("n1", 1.0, 2.0, 60)), beats=tells)
    second = replace(passage(Note("n1", 11.0, 12.0, 62)), beats=BeatTimes((11.0, 11.5, 12.0), True, "click"))
    aside = replace(second, beats=BeatTimes((11.2, 11.7, 12.2), False, "click"))
    assert np.allclose(joined((first, second)).beats.times_s, np.arange(1.0, 12.1, 0.5))
    assert joined((first, second)).beats.starts_bar
    assert joined((first, aside)).beats == tells
    assert joined((silent, second)).beats == second.beats
    assert not joined((replace(first, beats=None), second)).beats.starts_bar


def test_taps_are_told_once_for_all_passages():
    taps = BeatTimes((1.0, 1.6, 2.0), False)
    parts = [replace(passage(Note("n1", at_s, at_s + 1, 60)), beats=taps) for at_s in (1.0, 11.0)]
    assert joined(parts).beats == taps


def test_cents_of_all_passages_count_from_one_tuning():
    """Two passages read 4 cents apart: a note that stands still sounds where it sounded."""
    flat = Note("n1", 1.0, 2.0, 60, cents=3.0, contour=Contour(1.0, 0.01, (3.0, None)))
    sharp = Note("n1", 11.0, 12.0, 60, cents=-1.0, contour=Contour(11.0, 0.01, (-1.0, None)))
    take = joined((passage(flat, tuning=10.0), passage(sharp, tuning=14.0)))
    assert take.heard.tuning_offset_cents == 12.0
    assert [note.cents for note in take.heard.notes] == [1.0, 1.0]
    assert [note.contour.cents for note in take.heard.notes] == [(1.0, None), (1.0, None)]


def told_pitches(take):
    return [(note.midi, note.cents) for note in take.heard.notes]


@pytest.mark.parametrize("unsure", [math.inf, 50.0])
def test_a_passage_that_cannot_tell_the_tuning_does_not_drag_the_rest(unsure):
    """Thirty cents sharp, as the first passage tells; the second counted from the reference."""
    sure = passage(Note("n1", 1.0, 2.0, 60, cents=0.0), tuning=30.0, error=0.5)
    lost = passage(*(Note(f"n{k}", 10 + k, 11 + k, 60, cents=30.0) for k in range(3)), tuning=0.0, error=unsure)
    take = joined((sure, lost))
    assert abs(take.heard.tuning_offset_cents - 30.0) < 0.01
    assert told_pitches(take) == [(60, 0.0)] * 4
    assert take.heard.tuning_error_cents == pytest.approx(0.5, rel=1e-3)


def test_a_passage_without_notes_says_nothing_of_the_tuning():
    take = joined((passage(Note("n1", 1.0, 2.0, 60, cents=0.0), tuning=30.0), passage(tuning=0.0)))
    assert (take.heard.tuning_offset_cents, told_pitches(take)) == (30.0, [(60, 0.0)])


@pytest.mark.parametrize("order", [1, -1])
@pytest.mark.parametrize("error", [1.0, math.inf])
def test_one_pitch_halfway_between_two_notes_is_one_note(order, error):
    first = passage(Note("n1", 1.0, 2.0, 60, cents=0.1), tuning=49.9, error=error)
    second = passage(Note("n1", 11.0, 12.0, 61, cents=-0.1), tuning=-49.9, error=error)
    take = joined((first, second)[::order])
    assert len(set(told_pitches(take))) == 1
    (midi, cents), *_ = told_pitches(take)
    assert 100 * midi + cents + take.heard.tuning_offset_cents == pytest.approx(6050.0, abs=0.1)
    assert abs(cents) <= 0.1


def test_what_one_passage_lacks_is_no_doubt_about_a_take_that_has_it():
    silent = passage(doubts=doubts_about_take((), math.inf, Settings().notes))
    lone = Note("n1", 1.0, 2.0, 60)
    short = passage(lone, doubts=doubts_about_take((lone,), math.inf, Settings().notes))
    sure = passage(lone, error=1.0)
    assert [doubt.why for doubt in joined((silent, silent)).heard.doubts] == ["no note was heard"]
    assert [doubt.why[:21] for doubt in joined((silent, short, short)).heard.doubts] == ["too few steady notes "]
    assert joined((silent, short, sure)).heard.doubts == ()


def test_damage_at_two_moments_is_told_twice_and_at_one_moment_once():
    said = "The file is damaged near {} s ({}): what could be decoded was used.".format
    early, late = said("10.00", "2 places"), said("3000.00", "2 places")
    take = joined((passage(remarks=(early,)), passage(remarks=(said("10.00", "3 places"), late))))
    assert take.remarks == (early, late)
    spans = [f"From {a}:00 to {a + 2}:00 nothing was heard: clipped, {a} %." for a in (2, 50)]
    assert joined((passage(remarks=(spans[0],)), passage(remarks=(spans[1],)))).remarks == tuple(spans)


def test_more_than_an_afternoon_is_refused_with_what_to_do():
    with pytest.raises(TakeError, match=r"5\.0 hours are too long for one take") as error:
        check_length(5 * 3600.0)
    assert "--from" in str(error.value.mend)


def test_a_take_heard_in_passages_has_the_notes_of_the_take_heard_whole(tmp_path, monkeypatch):
    takes = [read_recording(HERE / "takes" / f"{name}.bright-electric.flac") for name in ("lamp-room", "slipway")]
    rest = np.zeros(takes[0].rate_hz, np.float32)
    parts = [part for take in (*takes, takes[0]) for part in (take.samples, rest)]
    path = tmp_path / "three.flac"
    write_flac(path, np.concatenate(parts), takes[0].rate_hz)
    length_s = sum(part.size for part in parts) / takes[0].rate_hz
    choices, settings = TakeChoices(voices="one"), Settings()
    shares = []
    whole = listening.listen(path, choices, settings, lambda *_: None, length_s=length_s)
    monkeypatch.setattr(listening, "LONG_S", 6.0)
    monkeypatch.setattr(listening, "PASSAGE_S", 6.0)
    monkeypatch.setattr("transcribe.long_take.SEARCH_S", 3.0)
    pieces = listening.listen(path, choices, settings, lambda _, share: shares.append(share), length_s=length_s)
    one, other = ([(note.midi, note.onset_s) for note in told.heard.notes] for told in (whole, pieces))
    assert [midi for midi, _ in one] == [midi for midi, _ in other]
    assert np.allclose([onset for _, onset in one], [onset for _, onset in other], atol=0.01)
    assert shares == sorted(shares)
    assert max(shares) <= 0.9


def test_where_the_sound_breaks_off_the_draft_says_so(tmp_path, monkeypatch):
    path = HERE / "takes" / "lamp-room.bright-electric.flac"
    read = []

    def breaking(*where, **how):
        read.append(how["from_s"])
        if len(read) > 1:
            raise ReadError("the file is damaged", "Record it again.")
        return read_recording(*where, **how)

    monkeypatch.setattr(listening, "read_recording", breaking)
    monkeypatch.setattr(listening, "LONG_S", 3.0)
    monkeypatch.setattr(listening, "PASSAGE_S", 3.0)
    monkeypatch.setattr("transcribe.long_take.SEARCH_S", 1.0)
    told = listening.listen(path, TakeChoices(voices="one"), Settings(), lambda *_: None, length_s=60.0)
    assert told.heard.notes
    assert told.remarks[-1].startswith("The sound cannot be read from 0:0")
