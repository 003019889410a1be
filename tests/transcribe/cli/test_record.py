"""``takesheet record``: what is asked for, what is told, and a whole take through a stand-in sound library."""

from __future__ import annotations

import io
import json
import os
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from tests.microphone import StandInMicrophone
from tests.signals import hz, placed, plucked, steady
from transcribe.audio.click import LEAD_IN_S
from transcribe.audio.record import Level, TakeRecord
from transcribe.cli.commands import main
from transcribe.cli.record import enter_watch, meter_line, record_with, told

RATE_HZ = 22050
FINE = SimpleNamespace(input_overflow=False)


class StandInLibrary:
    """A sound library with two inputs that 'hears' the given sound as fast as it is read."""

    class PortAudioError(Exception):
        pass

    def __init__(self, sound: np.ndarray) -> None:
        self._sound = sound.astype(np.float32)
        self.default = SimpleNamespace(device=(0, 0))
        self.played: list[np.ndarray] = []

    def query_devices(self) -> list[dict[str, Any]]:
        common = {"max_input_channels": 1, "hostapi": 0, "default_samplerate": float(RATE_HZ)}
        return [{"name": "Room microphone", **common}, {"name": "Guitar cable", **common}]

    def InputStream(self, **options: Any) -> Any:  # noqa: N802  the library's own name
        return self._stream(options, lambda block: options["callback"](block, len(block), None, FINE))

    def Stream(self, **options: Any) -> Any:  # noqa: N802  the library's own name
        clock = SimpleNamespace(inputBufferAdcTime=10.0, outputBufferDacTime=10.02)

        def both(block: np.ndarray) -> None:
            out = np.zeros((len(block), 1), np.float32)
            options["callback"](block, out, len(block), clock, FINE)
            self.played.append(out[:, 0].copy())

        return self._stream(options, both)

    def _stream(self, options: dict[str, Any], give: Any) -> Any:
        def start() -> None:
            for first in range(0, self._sound.size, 512):
                give(self._sound[first : first + 512, None])
            options["finished_callback"]()  # the cable is pulled out

        return SimpleNamespace(start=start, abort=lambda: None, close=lambda: None, latency=(0, 0))


def lick(start_s: float) -> np.ndarray:
    """Four quarter notes at 120 from ``start_s``."""
    notes = [
        (start_s + 0.5 * k, plucked(steady(hz(m), 0.5, RATE_HZ), rate_hz=RATE_HZ))
        for k, m in enumerate((57, 60, 62, 64))
    ]
    return placed(*notes, seconds=start_s + 2.5, rate_hz=RATE_HZ)


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> StandInLibrary:
    """One bar of 4/4 counted in at 120, then the lick from the second beat on, heard with the delay of the card."""
    stand_in = StandInLibrary(lick(LEAD_IN_S + 2.0 + 0.5 + 0.02))
    monkeypatch.setitem(sys.modules, "sounddevice", stand_in)
    return stand_in


def test_a_take_with_a_count_in_is_recorded_and_drafted_on_the_beat(
    tmp_path: Path, library: StandInLibrary, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--input", "guitar", "--tempo", "120", "--count-in", "1", "--name", "etude", "--out", str(tmp_path)]
    assert main(["record", *words]) == 0
    said = capsys.readouterr()
    assert "headphones on, volume low" in said.err
    assert "Recording from Guitar cable" in said.err
    assert "The input went away" in said.err
    assert np.abs(np.concatenate(library.played)).max() > 0.05  # the click was heard
    document = json.loads((tmp_path / "etude.take.json").read_text(encoding="utf-8"))
    assert document["rhythm"]["tempo_bpm"] == pytest.approx(120, abs=0.5)
    assert document["rhythm"]["first_downbeat_s"] == pytest.approx(LEAD_IN_S + 2.02, abs=0.03)
    notes = document["notes"]
    assert [note["midi"] for note in notes] == [57, 60, 62, 64]
    assert [(note["bar"], note["beat"]) for note in notes] == [(1, "1"), (1, "2"), (1, "3"), (2, "0")]
    assert notes[0]["onset_s"] == pytest.approx(LEAD_IN_S + 2.52, abs=0.03)
    assert (tmp_path / "etude.wav").exists()
    assert (tmp_path / "etude.musicxml").exists()


def test_the_click_ticks_on_the_beats_of_the_meter(tmp_path: Path, library: StandInLibrary) -> None:
    """In 6/8 at 90 quarter notes a minute an eighth lasts a third of a second, and a bar has six."""
    words = ["--tempo", "90", "--meter", "6/8", "--count-in", "1", "--no-draft", "--name", "a", "--out", str(tmp_path)]
    assert main(["record", *words]) == 0
    loud = np.abs(np.concatenate(library.played)) > 0.02
    ticks = np.flatnonzero(loud & ~np.roll(loud, 1))
    starts = ticks[np.diff(ticks, prepend=-RATE_HZ) > 0.2 * RATE_HZ] / RATE_HZ
    assert starts == pytest.approx([LEAD_IN_S + k / 3 for k in range(6)], abs=0.01)


def test_only_recording(tmp_path: Path, library: StandInLibrary) -> None:
    assert main(["record", "--no-draft", "--seconds", "1", "--name", "a.wav", "--out", str(tmp_path)]) == 0
    assert [path.name for path in tmp_path.iterdir()] == ["a.wav"]
    assert library.played == []  # no click was asked for, so nothing is played


def test_the_recording_outlives_a_draft_that_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", StandInLibrary(np.zeros(RATE_HZ)))
    assert main(["record", "--name", "quiet", "--out", str(tmp_path)]) == 2
    assert "nothing to hear" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["quiet.wav"]


def test_inputs_are_listed(library: StandInLibrary, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["record", "--list-inputs"]) == 0
    assert capsys.readouterr().out.splitlines() == [
        "Room microphone  (1 channel, 22050 Hz, default)",
        "Guitar cable  (1 channel, 22050 Hz)",
    ]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["--input", "organ"], "no input is called 'organ'"),
        (["--channel", "2"], "has no input channel 2"),
        (["--count-in", "1"], "a click needs a tempo"),
        (["--click"], "a click needs a tempo"),
        (["--count-in", "99", "--tempo", "90"], "a count-in of 99 bars"),
        (["--seconds", "0"], "--seconds is 0"),
        (["--seconds", "inf"], "--seconds is inf"),
        (["--name", "../etude"], "no such name for a take"),
        (["--tuning", "nonsense"], "nonsense"),
        (["--meter", "4"], "no such meter"),
    ],
)
def test_a_mistake_is_told_before_anything_is_recorded(
    tmp_path: Path, library: StandInLibrary, capsys: pytest.CaptureFixture[str], words: list[str], found: str
) -> None:
    assert main(["record", "--out", str(tmp_path), *words]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert found in lines[0]
    assert list(tmp_path.iterdir()) == []


def test_a_missing_sound_library_is_one_plain_line_and_one_way_out(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    assert main(["record"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert lines == [
        "takesheet: recording needs the extra 'record', which is not installed",
        '  Install it: pip install "takesheet[record]"',
    ]


def test_a_take_of_the_same_name_is_kept(
    tmp_path: Path, library: StandInLibrary, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "etude.wav").write_bytes(b"precious")
    assert main(["record", "--name", "etude", "--out", str(tmp_path)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert (tmp_path / "etude.wav").read_bytes() == b"precious"


def test_ctrl_c_ends_the_take_and_goes_on_to_the_draft(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def stop_now() -> None:
        raise KeyboardInterrupt

    microphone = StandInMicrophone(0.5 * np.ones(8000), events={10: stop_now})
    taken = record_with(microphone, tmp_path / "a.wav", None, None)
    assert (taken.ended, taken.duration_s) == ("interrupted", 0.5)
    assert "Recorded 0.5 s" in capsys.readouterr().err


def record_of(**changes: Any) -> TakeRecord:
    usual: dict[str, Any] = {
        "path": Path("a.wav"), "duration_s": 4.2, "peak": 0.5, "clipped_s": (), "dropped_s": (), "ended": "stopped",
        "downbeat_s": None,
    }  # fmt: skip
    return TakeRecord(**{**usual, **changes})


@pytest.mark.parametrize(
    ("changes", "line"),
    [
        ({}, "Recorded 4.2 s, peak -6 dB: a.wav"),
        ({"clipped_s": (1.0, 2.0)}, "The input was overloaded at 1.0, 2.0 s: turn it down for the next take."),
        ({"clipped_s": (1.0,) * 5}, "overloaded at 1.0, 1.0, 1.0 s and 2 more times"),
        ({"peak": 0.01}, "very quiet"),
        ({"dropped_s": (0.7,)}, "The sound card lost some sound at 0.7 s"),
        ({"ended": "device lost"}, "The input went away"),
        ({"ended": "disk full"}, "The disk is full"),
        ({"ended": "longest take"}, "longest take that can be drafted"),
        ({"duration_s": 0.0}, "Nothing was recorded."),
    ],
)
def test_the_player_is_told(changes: dict[str, Any], line: str) -> None:
    assert any(line in said for said in told(record_of(**changes)))


def test_the_meter() -> None:
    assert "|" + "#" * 30 + "|" in meter_line(Level(1.0, 1.0, False), clipped=False)
    assert "|" + "#" * 27 + "..." + "|" in meter_line(Level(1.0, 0.5, False), clipped=False)  # half is 6 dB down
    assert "|" + "." * 30 + "|" in meter_line(Level(1.0, 0.0, False), clipped=False)
    assert "OVERLOADED" in meter_line(Level(1.0, 1.0, True), clipped=True)
    widths = {
        len(meter_line(Level(t, p, False), c)) for t in (0.1, 99.9) for p in (0.0, 0.1, 1.0) for c in (True, False)
    }
    assert len(widths) == 1  # each redraw covers the one before
    assert max(widths) < 80  # and fits a terminal


if sys.platform != "win32":  # elsewhere a pipe cannot be asked whether it holds a line

    def test_enter_ends_a_take_and_the_end_of_input_does_not() -> None:
        out, into = os.pipe()
        with os.fdopen(out, "r") as keyboard:
            pressed = enter_watch(keyboard)
            assert not pressed()
            os.write(into, b"\n")
            assert pressed()
            os.close(into)
            assert not pressed()
            assert not pressed()


def test_without_a_keyboard_nothing_is_pressed() -> None:
    assert not enter_watch(io.StringIO("\n"))()
    assert not enter_watch(None)()
