"""A file to what is heard in it: whatever the file says of its length, what sounds is heard to its end."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fixtures.render import HERE
from tests.media import write_media
from transcribe import listening
from transcribe.audio.read import read_recording, source_facts
from transcribe.choices import TakeChoices
from transcribe.errors import ReadError, TakeError
from transcribe.long_take import AFTER_S, BEFORE_S, Listened
from transcribe.notes.hear import Heard
from transcribe.notes.note import Note
from transcribe.settings import Settings

LAMP_ROOM = HERE / "takes" / "lamp-room.bright-electric.flac"
RATE_HZ = 48000
PASSAGE_S, LONG_S = 4.0, 8.0
RNG = np.random.default_rng(0)


@pytest.fixture
def passages(monkeypatch):
    """The passages that are heard, each with a note at every second and a half; only they are made up."""
    heard = []

    def hear(take, choices, settings, report):
        recording = take.recording
        heard.append(recording)
        for share in (0.1, 0.5, 0.9):
            report("listening", share)
        times = [k + 0.5 for k in range(math.ceil(recording.start_s), math.floor(recording.end_s + 0.01))]
        notes = tuple(Note(f"n{k}", at_s, at_s + 0.1, 60) for k, at_s in enumerate(times))
        strings = tuple(() for _ in notes)
        return Listened(Heard(notes, 0.0, ()), strings, take.remarks, None, recording.start_s, recording.end_s)

    monkeypatch.setattr(listening, "_listened", hear)
    monkeypatch.setattr(listening, "LONG_S", LONG_S)
    monkeypatch.setattr(listening, "PASSAGE_S", PASSAGE_S)
    monkeypatch.setattr("transcribe.long_take.SEARCH_S", 1.0)
    return heard


def noise(seconds, level=0.1):
    return (level * RNG.standard_normal(round(seconds * RATE_HZ))).astype(np.float32)


def silence(seconds):
    return np.zeros(round(seconds * RATE_HZ), np.float32)


def tone(seconds, level=0.3):
    return (level * np.sin(2 * np.pi * 220 * np.arange(round(seconds * RATE_HZ)) / RATE_HZ)).astype(np.float32)


def clipped(seconds):
    """A tone that an input turned up far too high cut off at full scale."""
    return np.clip(tone(seconds, level=4.0), -1.0, 1.0)


def wav(folder, *parts):
    return write_media(folder / "take.wav", np.concatenate(parts), RATE_HZ)


def heard_in(path, report=lambda *_: None, **choices):
    length_s = source_facts(path).duration_s
    return listening.listen(path, TakeChoices(**choices), Settings(), report, length_s=length_s)


def seconds_heard(told):
    return [int(note.onset_s) for note in told.heard.notes]


LENGTHS_UNTOLD = [
    ("loud-first.aac", "aac", {}, (noise(6), tone(18))),
    ("soft-first.aac", "aac", {}, (tone(18, 0.05), noise(6))),
    ("live.webm", "libopus", {"live": "1"}, (noise(6), tone(18))),
]


@pytest.mark.parametrize(("name", "codec", "options", "parts"), LENGTHS_UNTOLD)
def test_where_no_length_is_told_the_sound_is_heard_to_its_end_by_passages(
    tmp_path: Path, passages, name, codec, options, parts
):
    path = write_media(tmp_path / name, np.concatenate(parts), RATE_HZ, codec=codec, options=options)
    shares: list[float] = []
    told = heard_in(path, lambda _, share: shares.append(share))
    assert seconds_heard(told) == list(range(24))
    assert told.remarks == ()
    assert (told.start_s, told.end_s) == (0.0, pytest.approx(24.0, abs=0.1))
    assert max(passage.duration_s for passage in passages) <= 1.5 * PASSAGE_S + BEFORE_S + AFTER_S
    assert shares == sorted(shares)
    assert 0.0 < shares[2] < max(shares) <= 0.9


@pytest.mark.parametrize(("name", "codec", "options", "parts"), LENGTHS_UNTOLD)
def test_a_short_take_that_tells_no_length_is_heard_whole(tmp_path: Path, passages, name, codec, options, parts):
    sound = np.concatenate([part[: RATE_HZ * 3] for part in parts])
    told = heard_in(write_media(tmp_path / name, sound, RATE_HZ, codec=codec, options=options))
    assert len(passages) == 1
    assert seconds_heard(told) == list(range(6))
    assert told.remarks == ()


def test_of_sound_without_an_end_so_much_is_heard_as_one_take_may_last(tmp_path: Path, passages, monkeypatch):
    monkeypatch.setattr("transcribe.long_take.LONGEST_HOURS", 12 / 3600)
    path = write_media(tmp_path / "take.aac", noise(20), RATE_HZ, codec="aac")
    told = heard_in(path)
    assert seconds_heard(told) == list(range(12))
    assert told.remarks[-1].endswith("the sound goes on.")
    assert not any("goes on" in remark for remark in heard_in(path, to_s=11.0).remarks)
    with pytest.raises(TakeError, match="too long for one take"):
        heard_in(wav(tmp_path, noise(20)))


def test_the_sound_of_a_video_that_goes_on_in_silence_does_not_break_off(tmp_path: Path, passages):
    path = write_media(tmp_path / "take.mp4", noise(14), RATE_HZ, codec="aac", picture="mpeg4", picture_after_s=20.0)
    told = heard_in(path)
    assert told.remarks == ()
    assert seconds_heard(told) == list(range(14))


def test_a_cut_between_passages_is_not_told_as_an_end_that_was_asked_for(tmp_path: Path, passages):
    path = write_media(tmp_path / "take.aac", noise(14), RATE_HZ, codec="aac")
    assert heard_in(path).remarks == ()
    (remark,) = heard_in(path, to_s=30.0).remarks
    assert remark.startswith("The sound ends at 14.")
    assert remark.endswith("before --to 30 s.")
    assert len(heard_in(wav(tmp_path, noise(14)), to_s=30.0).remarks) == 1


def test_silence_at_the_edges_of_a_long_take_belongs_to_it(tmp_path: Path, passages):
    told = heard_in(wav(tmp_path, silence(9), noise(6), silence(9)))
    assert (told.start_s, told.end_s) == (0.0, 24.0)
    assert seconds_heard(told)[0] <= 9 <= seconds_heard(told)[-1] < 20


def test_one_clipped_passage_is_told_and_the_rest_is_heard(tmp_path: Path, passages):
    """Seconds 12 to 16 are no use; passages are four seconds long, and hear a little before and after themselves."""
    path = wav(tmp_path, noise(8), silence(4), clipped(4), silence(4), noise(8))
    told = heard_in(path)
    assert {*range(7), *range(20, 28)} <= set(seconds_heard(told))
    assert not {*range(12, 16)} & set(seconds_heard(told))
    assert (told.start_s, told.end_s) == (0.0, 28.0)
    refused = [remark for remark in told.remarks if remark.startswith("From 0:")]
    assert len(refused) >= 2, "each span is told, though they differ in numbers alone"
    assert all("nothing was heard: the take is badly clipped" in remark for remark in refused)
    assert all("--accept-clipping" in remark for remark in refused)
    assert {*range(12, 16)} <= set(seconds_heard(heard_in(path, accept_clipping=True)))


def test_a_take_clipped_all_over_is_refused(tmp_path: Path, passages):
    with pytest.raises(TakeError, match="badly clipped"):
        heard_in(wav(tmp_path, clipped(12), silence(6)))
    with pytest.raises(TakeError, match="nothing to hear"):
        heard_in(wav(tmp_path, silence(12)))


def test_sound_that_breaks_off_is_heard_and_told_to_where_it_stopped(tmp_path: Path, passages, monkeypatch):
    """Nothing can be read from second 10 on: neither a passage that reaches past it nor one that begins after it."""
    path = wav(tmp_path, noise(24))

    def breaking(path, *, from_s, to_s, **how):
        if from_s > 6.0:
            raise ReadError("the file is damaged", "Record it again.")
        return read_recording(path, from_s=from_s, to_s=min(to_s, 10.0), **how)

    monkeypatch.setattr(listening, "read_recording", breaking)
    told = heard_in(path)
    assert told.end_s == pytest.approx(10.0)
    assert seconds_heard(told) == list(range(10))
    assert told.remarks[-1].startswith("The sound cannot be read from 0:10 on")


def test_at_another_reference_a_second_tracker_agrees_as_before():
    """A lick at 440 Hz told against an A a semitone lower: every number is one higher, what sounds is the same."""
    doubts = []
    for reference_hz in (440.0, 415.3):
        choices = replace(TakeChoices(voices="one"), second_opinion=True, reference_hz=reference_hz)
        told = listening.listen(LAMP_ROOM, choices, Settings(), lambda *_: None, length_s=None)
        doubts.append([doubt.note for doubt in told.heard.doubts if "second tracker" in doubt.why])
    assert doubts[0] == doubts[1]
    assert len(doubts[0]) < 3
