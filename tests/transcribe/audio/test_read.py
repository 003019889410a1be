"""Every container gives the same sound at the same moment; every mistake gets two plain lines."""

from __future__ import annotations

import hashlib
import wave
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.media import write_media, write_picture_alone
from transcribe.audio.decode import Block, OpenMedia
from transcribe.audio.read import read_recording, source_facts
from transcribe.audio.recording import Recording
from transcribe.errors import ReadError, SettingsError, TakeError
from transcribe.settings import AudioSettings

CLICKS_S = (1.0, 4.0)  # where the short tones stand in the test sound
LENGTH_S = 5.0

# name, codec, sample rate, seconds by which the sound follows the picture, picture codec
CONTAINERS = [
    ("a.wav", "pcm_s16le", 44100, 0.0, None),
    ("a24.wav", "pcm_s24le", 44100, 0.0, None),
    ("a8.wav", "pcm_u8", 44100, 0.0, None),
    ("af.wav", "pcm_f32le", 44100, 0.0, None),
    ("a.flac", "flac", 44100, 0.0, None),
    ("a.ogg", "libopus", 48000, 0.0, None),
    ("a.mp3", "libmp3lame", 44100, 0.0, None),
    ("a.m4a", "aac", 44100, 0.0, None),
    ("a.mp4", "aac", 44100, 0.5, "mpeg4"),
    ("a.mov", "pcm_s16le", 48000, 0.5, "mpeg4"),
    ("aac.mov", "aac", 44100, 0.0, "mpeg4"),
    ("a.mkv", "flac", 44100, 0.5, "mpeg4"),
    ("mp3.mkv", "libmp3lame", 48000, 0.0, "mpeg4"),
    ("a.webm", "libopus", 48000, 0.5, "libvpx"),
]


def clicks(rate_hz: int, seconds: float = LENGTH_S, at_s: tuple[float, ...] = CLICKS_S) -> NDArray[np.float32]:
    """A soft low tone with short bursts whose middle lies at the given times."""
    t = np.arange(round(rate_hz * seconds)) / rate_hz
    sound = 0.05 * np.sin(2 * np.pi * 220 * t)
    for middle_s in at_s:
        sound += 0.7 * np.exp(-(((t - middle_s) / 0.01) ** 2)) * np.sin(2 * np.pi * 1000 * (t - middle_s))
    return sound.astype(np.float32)


def burst_s(recording: Recording, near_s: float) -> float:
    """Return the middle of the burst near a time, from the start of the file."""
    times = recording.start_s + np.arange(recording.samples.size) / recording.rate_hz
    weight = np.where(np.abs(times - near_s) < 0.1, np.abs(recording.samples), 0.0)
    weight[weight < 0.2] = 0.0
    return float((times * weight).sum() / weight.sum())


@pytest.mark.parametrize(
    ("name", "codec", "rate_hz", "offset_s", "picture"), CONTAINERS, ids=[c[0] for c in CONTAINERS]
)
def test_sound_lies_where_it_lies_in_the_file(
    tmp_path: Path, name: str, codec: str, rate_hz: int, offset_s: float, picture: str | None
) -> None:
    path = write_media(tmp_path / name, clicks(rate_hz), rate_hz, codec=codec, offset_s=offset_s, picture=picture)
    recording = read_recording(path)
    assert recording.rate_hz == rate_hz
    assert recording.duration_s == pytest.approx(LENGTH_S, abs=0.06)  # AAC pads its last block
    assert np.abs(recording.samples).max() == pytest.approx(0.75, abs=0.06)
    assert recording.remarks == ()
    for at_s in CLICKS_S:
        assert burst_s(recording, at_s + offset_s) == pytest.approx(at_s + offset_s, abs=0.0015)


@pytest.mark.parametrize(
    ("name", "codec", "rate_hz", "offset_s", "picture"), CONTAINERS, ids=[c[0] for c in CONTAINERS]
)
def test_a_passage_is_the_same_sound_as_in_the_whole(
    tmp_path: Path, name: str, codec: str, rate_hz: int, offset_s: float, picture: str | None
) -> None:
    path = write_media(tmp_path / name, clicks(rate_hz), rate_hz, codec=codec, offset_s=offset_s, picture=picture)
    passage = read_recording(path, from_s=3.6 + offset_s, to_s=4.3 + offset_s)
    assert passage.start_s == pytest.approx(3.6 + offset_s, abs=1e-4)
    assert passage.duration_s == pytest.approx(0.7, abs=1e-3)
    assert burst_s(passage, 4.0 + offset_s) == pytest.approx(4.0 + offset_s, abs=0.0015)
    whole = read_recording(path)
    shifts = range(-60, 61)  # containers that write times in milliseconds may move a passage by one
    first = round((passage.start_s - whole.start_s) * rate_hz)
    n = passage.samples.size - 200
    misses = [
        np.abs(whole.samples[first + 100 + k : first + 100 + k + n] - passage.samples[100 : 100 + n]).max()
        for k in shifts
    ]
    assert min(misses) < 1e-3


def test_a_long_video_is_not_read_up_to_the_passage(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from transcribe.audio import read as module

    rate_hz = 8000
    path = write_media(tmp_path / "long.mkv", clicks(rate_hz, 120.0, (100.0,)), rate_hz, codec="flac", picture="mpeg4")
    heard = []
    real = module.blocks
    monkeypatch.setattr(module, "blocks", lambda *a, **k: (heard.append(b) or b for b in real(*a, **k)))
    passage = read_recording(path, from_s=99.5, to_s=100.5)
    assert burst_s(passage, 100.0) == pytest.approx(100.0, abs=0.0015)
    assert sum(block.channels.shape[1] for block in heard) / rate_hz < 5.0


def test_an_index_that_points_past_the_passage_is_not_believed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from transcribe.audio import read as module

    path = write_media(tmp_path / "a.flac", clicks(8000), 8000, codec="flac")
    real = module.blocks

    def misled(media: OpenMedia, *, from_s: float = 0.0) -> Iterator[Block]:
        return (b for b in real(media) if from_s == 0.0 or (b.time_s or 0.0) > from_s + 0.5)

    monkeypatch.setattr(module, "blocks", misled)
    passage = read_recording(path, from_s=3.6, to_s=4.9)
    assert passage.start_s == pytest.approx(3.6)
    assert burst_s(passage, 4.0) == pytest.approx(4.0, abs=0.0015)


def test_samples_come_back_as_they_were_written(tmp_path: Path) -> None:
    """Full scale is 1.0 in every sample format: 16-bit steps are 1/32768 (IEC 61606-1, full-scale amplitude)."""
    values = np.array([0, 1, -1, 16384, -16384, 32767, -32768] * 1000, dtype="<i2")
    path = tmp_path / "steps.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 44100, 0, "NONE", ""))
        file.writeframes(values.tobytes())
    assert np.array_equal(read_recording(path).samples, values.astype(np.float32) / 32768)


def test_channels_are_averaged(tmp_path: Path) -> None:
    tone = clicks(44100)
    path = write_media(tmp_path / "two.wav", np.stack([tone, 0.5 * tone]), 44100, codec="pcm_f32le")
    assert np.allclose(read_recording(path).samples, 0.75 * tone, atol=1e-6)


def test_channels_out_of_phase_do_not_vanish(tmp_path: Path) -> None:
    tone = clicks(44100)
    path = write_media(tmp_path / "phase.wav", np.stack([0.8 * tone, -tone]), 44100, codec="pcm_f32le")
    recording = read_recording(path)
    assert np.allclose(recording.samples, -tone, atol=1e-6)
    assert "cancel" in recording.remarks[0]


def test_a_silent_channel_does_not_halve_the_level(tmp_path: Path) -> None:
    tone = clicks(44100)
    path = write_media(tmp_path / "left.wav", np.stack([tone, 0 * tone]), 44100, codec="pcm_f32le")
    recording = read_recording(path)
    assert np.allclose(recording.samples, tone, atol=1e-6)
    assert recording.remarks == ()


def test_high_rates_are_brought_down_to_the_limit(tmp_path: Path) -> None:
    path = write_media(tmp_path / "hi.wav", clicks(96000), 96000, codec="pcm_s24le")
    recording = read_recording(path)
    assert recording.rate_hz == 48000
    assert recording.duration_s == pytest.approx(LENGTH_S, abs=1e-3)
    assert burst_s(recording, 4.0) == pytest.approx(4.0, abs=0.0002)


def test_progress_rises_to_one(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.flac", clicks(8000), 8000, codec="flac")
    seen: list[float] = []
    read_recording(path, progress=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert 0 < seen[0] < 0.5


def test_facts_for_the_document(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.wav", clicks(22050), 22050)
    facts = source_facts(path)
    assert facts.file == "a.wav"
    assert facts.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert facts.sample_rate_hz == 22050
    assert facts.duration_s == pytest.approx(LENGTH_S)


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="no such file"):
        read_recording(tmp_path / "missing.wav")


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="is a folder"):
        read_recording(tmp_path)


def test_an_empty_file(tmp_path: Path) -> None:
    (tmp_path / "empty.wav").touch()
    with pytest.raises(ReadError, match="is empty"):
        read_recording(tmp_path / "empty.wav")


def test_a_file_of_words(tmp_path: Path) -> None:
    (tmp_path / "words.wav").write_text("bend the G string up to A and let it ring\n" * 50)
    with pytest.raises(ReadError, match="not a sound or video file"):
        read_recording(tmp_path / "words.wav")


def test_a_file_nobody_may_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write_media(tmp_path / "a.wav", clicks(8000), 8000)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)  # the tests may run as a user whom permissions do not bind
    with pytest.raises(ReadError, match="not allowed to read"):
        read_recording(path)


def test_a_video_without_sound(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="no audio track"):
        read_recording(write_picture_alone(tmp_path / "mute.mp4", 1.0))


def test_a_play_list_opens_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "list.m3u8").write_text("#EXTM3U\n#EXTINF:10,\nhttp://localhost:9/a.ts\n#EXT-X-ENDLIST\n")
    with pytest.raises(ReadError):
        read_recording(tmp_path / "list.m3u8")


def test_a_file_cut_short_is_read_as_far_as_it_goes(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.mp3", clicks(44100), 44100, codec="libmp3lame")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    recording = read_recording(path)
    assert recording.duration_s == pytest.approx(LENGTH_S / 2, abs=0.3)
    assert "cut short" in recording.remarks[0]


def test_a_file_damaged_half_way_says_where(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.flac", clicks(44100), 44100, codec="flac")
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 4000] = bytes(4000)
    path.write_bytes(data)
    recording = read_recording(path)
    assert "is missing near 2." in recording.remarks[0]
    assert burst_s(recording, 1.0) == pytest.approx(1.0, abs=0.0015)
    assert burst_s(recording, 4.0) == pytest.approx(4.0, abs=0.0015)  # what follows the damage stays in its place


def test_a_packet_that_cannot_be_decoded_says_where(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.mkv", clicks(44100), 44100, codec="aac", picture="mpeg4")
    data = bytearray(path.read_bytes())
    noise = np.random.default_rng(1).integers(0, 256, 3000, dtype=np.uint8).tobytes()
    middle = len(data) // 2
    data[middle : middle + 3000] = noise
    path.write_bytes(data)
    recording = read_recording(path)
    assert any("damaged" in remark for remark in recording.remarks)
    assert burst_s(recording, 1.0) == pytest.approx(1.0, abs=0.0015)


def test_a_video_cut_before_its_index_cannot_be_read(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.mp4", clicks(44100), 44100, codec="aac", picture="mpeg4")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(ReadError, match="or is damaged"):
        read_recording(path)


def test_samples_that_are_not_numbers(tmp_path: Path) -> None:
    tone = clicks(44100)
    tone[1000:1010] = np.nan
    recording = read_recording(write_media(tmp_path / "nan.wav", tone, 44100, codec="pcm_f32le"))
    assert np.isfinite(recording.samples).all()
    assert "10 samples" in recording.remarks[0]


@pytest.mark.parametrize(
    ("from_s", "to_s", "words"),
    [
        (-1.0, None, "--from is -1 s"),
        (None, float("nan"), "--to is nan s"),
        (3.0, 2.0, "not before --to"),
        (2.0, 2.0, "not before --to"),
        (None, 0.0, "not before --to"),
        (5.5, None, "ends at 5.00 s"),
    ],
)
def test_a_passage_nobody_could_cut(tmp_path: Path, from_s: float | None, to_s: float | None, words: str) -> None:
    path = write_media(tmp_path / "a.wav", clicks(8000), 8000)
    with pytest.raises(SettingsError, match=words):
        read_recording(path, from_s=from_s, to_s=to_s)


def test_a_passage_before_the_sound_of_a_video_begins(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.mkv", clicks(8000), 8000, codec="flac", offset_s=2.0, picture="mpeg4")
    with pytest.raises(SettingsError, match=r"its sound runs from 2\.00 s"):
        read_recording(path, from_s=0.5, to_s=1.5)


def test_an_end_past_the_end_is_told_and_allowed(tmp_path: Path) -> None:
    recording = read_recording(write_media(tmp_path / "a.wav", clicks(8000), 8000), from_s=3.0, to_s=9.0)
    assert recording.duration_s == pytest.approx(2.0)
    assert recording.remarks == ("The sound ends at 5.00 s, before --to 9 s.",)


def test_ten_milliseconds_are_too_short(tmp_path: Path) -> None:
    with pytest.raises(TakeError, match="10 ms of sound"):
        read_recording(write_media(tmp_path / "blip.wav", clicks(8000, 0.01), 8000))


def test_an_hour_is_too_long_and_is_refused_before_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "hour.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 1, 1000, 0, "NONE", ""))
        file.writeframes(bytes([128]) * 3_600_000)
    monkeypatch.setattr("transcribe.audio.read.blocks", lambda *_, **__: pytest.fail("nothing should be decoded"))
    with pytest.raises(TakeError, match=r"60 min is too long for one take \(limit 10 min\)") as error:
        read_recording(path)
    assert "--from" in error.value.mend


def test_a_passage_out_of_an_hour_is_fine(tmp_path: Path) -> None:
    path = tmp_path / "hour.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 1, 1000, 0, "NONE", ""))
        file.writeframes(bytes([128]) * 3_600_000)
    assert read_recording(path, from_s=3000, to_s=3010).duration_s == pytest.approx(10.0)


def test_a_length_the_file_hides_is_found_while_reading(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.wav", clicks(8000), 8000)
    settings = AudioSettings(max_take_s=2.0)
    with pytest.raises(TakeError, match="too long"):
        read_recording(path, settings=settings)


GUESSED = [
    ("a.aac", "aac", {}),
    ("a.ac3", "ac3", {}),
    ("a.mp3", "libmp3lame", {"write_xing": "0", "global_quality": "590", "flags": "+qscale"}),
]


@pytest.mark.parametrize(("name", "codec", "options"), GUESSED)
@pytest.mark.parametrize("loud_first", [False, True])
def test_a_length_guessed_from_the_first_seconds_is_none(
    tmp_path: Path, name: str, codec: str, options: dict[str, str], loud_first: bool
) -> None:
    """Noise takes many bits, silence few: guessed from either, the length of the other is far off."""
    noise = 0.2 * np.random.default_rng(0).standard_normal(44100 * 4).astype(np.float32)
    rest = np.zeros(44100 * 8, np.float32)
    sound = np.concatenate([noise, rest] if loud_first else [rest, noise])
    path = write_media(tmp_path / name, sound, 44100, codec=codec, options=options)
    assert source_facts(path).duration_s is None
    recording = read_recording(path, settings=AudioSettings(max_take_s=14.0))
    assert recording.duration_s == pytest.approx(12.0, abs=0.1)
    assert recording.remarks == ()
    late = read_recording(path, from_s=11.0, to_s=11.5)
    assert late.duration_s == pytest.approx(0.5, abs=0.01)
    assert bool(np.abs(late.samples).max() > 0.1) != loud_first


def test_an_mp3_with_the_header_of_its_encoder_tells_its_length(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.mp3", clicks(44100), 44100, codec="libmp3lame")
    assert source_facts(path).duration_s == pytest.approx(LENGTH_S, abs=0.05)


def test_an_end_that_nobody_asked_for_is_not_told(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.wav", clicks(8000), 8000)
    assert read_recording(path, from_s=3.0, to_s=9.0, to_s_asked=False).remarks == ()
