"""Whatever ends a take, what was played is on the disk."""

from __future__ import annotations

import errno
from pathlib import Path

import numpy as np
import pytest

from tests.microphone import StandInMicrophone
from transcribe.audio import record as module
from transcribe.audio.click import Click
from transcribe.audio.growing_wav import GrowingWav
from transcribe.audio.read import read_recording
from transcribe.audio.record import Level, is_clipped, record_take
from transcribe.errors import MissingExtraError, WriteError
from transcribe.settings import AudioSettings

RATE_HZ = 8000


def sound(seconds: float, level: float = 0.5) -> np.ndarray:
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    return (level * np.sin(2 * np.pi * 220 * t)).astype(np.float32)


def stop_now() -> None:
    raise KeyboardInterrupt


def test_every_sample_reaches_the_file(tmp_path: Path) -> None:
    played = sound(2.0)
    microphone = StandInMicrophone(played)
    taken = record_take(microphone, tmp_path / "a.wav", should_stop=lambda: microphone.given == 40)
    assert np.abs(read_recording(tmp_path / "a.wav").samples - played).max() < 1e-6
    assert (taken.ended, taken.duration_s, taken.downbeat_s) == ("stopped", 2.0, None)
    assert taken.peak == pytest.approx(0.5, abs=0.001)
    assert microphone.stopped


def test_it_ends_after_the_seconds_asked_for_to_the_sample(tmp_path: Path) -> None:
    taken = record_take(StandInMicrophone(sound(5.0)), tmp_path / "a.wav", seconds=1.2345)
    assert taken.ended == "time is up"
    assert read_recording(tmp_path / "a.wav").samples.size == round(1.2345 * RATE_HZ)


def test_the_count_in_comes_on_top_of_the_seconds(tmp_path: Path) -> None:
    click = Click(tick_s=0.25, ticks_a_bar=4, count_in_bars=1)
    taken = record_take(StandInMicrophone(sound(5.0)), tmp_path / "a.wav", seconds=1.0, click=click)
    assert taken.duration_s == pytest.approx(click.downbeat_s + 1.0)
    assert taken.downbeat_s == pytest.approx(click.downbeat_s + StandInMicrophone.click_delay_s)


def test_ctrl_c_keeps_everything_played(tmp_path: Path) -> None:
    played = sound(2.0)
    taken = record_take(StandInMicrophone(played, events={25: stop_now}), tmp_path / "a.wav")
    assert taken.ended == "interrupted"
    kept = read_recording(tmp_path / "a.wav").samples
    assert kept.size == 25 * 400
    assert np.abs(kept - played[: kept.size]).max() < 1e-6


def test_what_waits_in_the_device_when_the_take_ends_is_kept_too(tmp_path: Path) -> None:
    class Waiting(StandInMicrophone):
        def stop(self) -> None:  # what had arrived can still be fetched
            self._then_silent = True

    record_take(Waiting(sound(2.0), events={25: stop_now}), tmp_path / "a.wav")
    assert read_recording(tmp_path / "a.wav").duration_s == pytest.approx(2.0)


def test_a_device_that_vanishes_ends_the_take_and_keeps_it(tmp_path: Path) -> None:
    taken = record_take(StandInMicrophone(sound(1.0), lost=True), tmp_path / "a.wav")
    assert taken.ended == "device lost"
    assert read_recording(tmp_path / "a.wav").duration_s == pytest.approx(1.0)


def test_a_device_that_falls_silent_for_good_counts_as_vanished(tmp_path: Path) -> None:
    taken = record_take(StandInMicrophone(sound(1.0), then_silent=True), tmp_path / "a.wav")
    assert taken.ended == "device lost"
    assert taken.duration_s == pytest.approx(1.0)


def test_a_full_disk_ends_the_take_and_keeps_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = GrowingWav.write

    def write(self: GrowingWav, samples: np.ndarray) -> None:
        if self.n_samples >= RATE_HZ:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(self, samples)

    monkeypatch.setattr(GrowingWav, "write", write)
    taken = record_take(StandInMicrophone(sound(2.0)), tmp_path / "a.wav")
    assert taken.ended == "disk full"
    assert read_recording(tmp_path / "a.wav").duration_s == pytest.approx(1.0)


def test_a_disk_full_from_the_start_is_a_mistake_to_mend(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def write(self: GrowingWav, samples: np.ndarray) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(GrowingWav, "write", write)
    with pytest.raises(WriteError, match="no room to write"):
        record_take(StandInMicrophone(sound(2.0)), tmp_path / "a.wav")
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_number_is_silence_and_counts_as_dropped(tmp_path: Path) -> None:
    played = sound(1.0)
    played[1000:1010] = np.nan
    played[1010] = np.inf
    taken = record_take(StandInMicrophone(played, lost=True), tmp_path / "a.wav")
    assert taken.dropped_s == pytest.approx((0.1,))
    assert taken.peak == pytest.approx(0.5, abs=0.001)
    kept = read_recording(tmp_path / "a.wav").samples
    assert not kept[1000:1011].any()
    assert np.abs(kept[1011:] - played[1011:]).max() < 1e-6


def test_what_arrives_after_the_time_is_up_is_left_out(tmp_path: Path) -> None:
    class Eager(StandInMicrophone):
        def stop(self) -> None:
            self._then_silent = True

    taken = record_take(Eager(sound(5.0)), tmp_path / "a.wav", seconds=1.0)
    assert taken.duration_s == 1.0


def test_the_longest_take_ends_by_itself(tmp_path: Path) -> None:
    taken = record_take(StandInMicrophone(sound(2.0)), tmp_path / "a.wav", settings=AudioSettings(max_take_s=0.5))
    assert (taken.ended, taken.duration_s) == ("longest take", 0.5)


def test_nothing_played_leaves_no_file(tmp_path: Path) -> None:
    taken = record_take(StandInMicrophone(sound(1.0), events={0: stop_now}), tmp_path / "a.wav")
    assert taken.duration_s == 0
    assert list(tmp_path.iterdir()) == []


def test_a_device_that_does_not_open_leaves_no_file(tmp_path: Path) -> None:
    class Closed(StandInMicrophone):
        def start(self) -> None:
            self.stopped = True
            raise MissingExtraError("stand-in does not open", "Choose another.")

    with pytest.raises(MissingExtraError):
        record_take(Closed(sound(1.0)), tmp_path / "a.wav")
    assert list(tmp_path.iterdir()) == []


def test_the_level_and_what_went_wrong_are_told(tmp_path: Path) -> None:
    played = np.concatenate([sound(0.5, 0.25), np.clip(sound(0.1, 3.0), -1, 1), sound(0.4, 0.25)])
    levels: list[Level] = []
    microphone = StandInMicrophone(played, overflows=(4,), lost=True)
    taken = record_take(microphone, tmp_path / "a.wav", on_level=levels.append)
    assert taken.clipped_s == pytest.approx((0.5, 0.55))
    assert taken.dropped_s == pytest.approx((0.2,))
    assert [level.clipped for level in levels].count(True) == 2
    assert levels[0].peak == pytest.approx(0.25, abs=0.001)
    assert levels[-1].duration_s == pytest.approx(1.0)


def test_loud_but_whole_is_not_clipped() -> None:
    assert not is_clipped(sound(0.1, 0.998))
    assert is_clipped(np.clip(sound(0.1, 1.5), -1, 1))
    assert not is_clipped(np.array([0, 1, 0, 1, 1, 0], np.float32))  # two in a row happen in a whole wave


def test_the_recorder_loads_no_sound_library() -> None:
    assert "sounddevice" not in Path(module.__file__).read_text(encoding="utf-8")
