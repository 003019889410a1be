"""The adapter against a stand-in for the sound library: choosing inputs, callbacks, and what goes wrong."""

from __future__ import annotations

import sys
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from transcribe.audio.click import Click, click_samples
from transcribe.audio.record import DeviceLostError
from transcribe.audio.sound_card import InputDevice, SoundCard, choose_input, list_inputs, sound_library
from transcribe.errors import MissingExtraError, SettingsError

FINE = SimpleNamespace(input_overflow=False)
OVERFLOW = SimpleNamespace(input_overflow=True)


def device(name: str, inputs: int, api: int = 0, rate_hz: float = 48000.0) -> dict[str, Any]:
    return {"name": name, "max_input_channels": inputs, "hostapi": api, "default_samplerate": rate_hz}


class StandInLibrary:
    """As much of the library as the adapter uses."""

    class PortAudioError(Exception):
        pass

    def __init__(self, devices: list[dict[str, Any]], default: int = 0, refuses: bool = False) -> None:
        self._devices, self._refuses = devices, refuses
        self.default = SimpleNamespace(device=(default, 1))
        self.stream: Any = None

    def query_devices(self) -> list[dict[str, Any]]:
        return self._devices

    def _open(self, **options: Any) -> Any:
        if self._refuses:
            raise self.PortAudioError("Device unavailable")
        self.stream = SimpleNamespace(
            options=options,
            latency=(0.01, 0.02),
            start=lambda: None,
            abort=options["finished_callback"],
            close=lambda: None,
        )
        return self.stream

    InputStream = Stream = _open


DEVICES = [device("Built-in Microphone", 1), device("Speakers", 0), device("USB Interface", 2), device("USB Camera", 1)]


def started(*, channel: int = 1, click: Click | None = None, index: int = 2) -> tuple[StandInLibrary, SoundCard]:
    library = StandInLibrary(DEVICES)
    found = next(d for d in list_inputs(library) if d.index == index)
    card = SoundCard(library, found, channel=channel, click=click)
    card.start()
    return library, card


def test_inputs_are_listed_the_default_first_outputs_left_out() -> None:
    names = [d.name for d in list_inputs(StandInLibrary(DEVICES, default=2))]
    assert names == ["USB Interface", "Built-in Microphone", "USB Camera"]


def test_a_device_known_to_three_sound_systems_is_listed_once() -> None:
    devices = [device("Line in", 2, api=0), device("Line in", 2, api=1), device("Line in", 2, api=2)]
    assert [d.index for d in list_inputs(StandInLibrary(devices, default=1))] == [1]


def test_no_default_input_is_no_reason_to_find_none() -> None:
    devices = [device("Speakers", 0, api=0), device("Line in", 2, api=1)]
    assert [d.name for d in list_inputs(StandInLibrary(devices, default=-1))] == ["Line in"]


def test_no_input_at_all() -> None:
    with pytest.raises(MissingExtraError, match="no microphone"):
        list_inputs(StandInLibrary([device("Speakers", 0)]))


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (None, "Built-in Microphone"),
        ("usb interface", "USB Interface"),
        ("CAM", "USB Camera"),
        (" built ", "Built-in Microphone"),
    ],
)
def test_an_input_by_its_name_or_a_part_of_it(words: str | None, name: str) -> None:
    assert choose_input(list_inputs(StandInLibrary(DEVICES)), words).name == name


def test_a_whole_name_wins_over_a_part() -> None:
    inputs = [InputDevice(k, name, 1, 48000, False) for k, name in enumerate(("USB", "USB Interface"))]
    assert choose_input(inputs, "usb").name == "USB"


@pytest.mark.parametrize(
    ("words", "found"), [("usb", "2 inputs match"), ("piano", "no input is called"), ("", "no input")]
)
def test_an_input_nobody_could_mean_lists_the_names(words: str, found: str) -> None:
    with pytest.raises(SettingsError, match=found) as error:
        choose_input(list_inputs(StandInLibrary(DEVICES)), words)
    assert "'USB Interface'" in error.value.mend


def test_the_channel_asked_for_is_the_one_recorded() -> None:
    library, card = started(channel=2)
    assert library.stream.options["channels"] == 2
    library.stream.options["callback"](np.array([[0.1, 0.2], [0.3, 0.4]], np.float32), 2, None, FINE)
    heard = card.read(0.1)
    assert heard is not None
    assert np.array_equal(heard.samples, np.array([0.2, 0.4], np.float32))


def test_a_channel_the_device_does_not_have() -> None:
    with pytest.raises(SettingsError, match="has no input channel 3"):
        started(channel=3)


def test_blocks_are_copied_joined_and_overflows_told() -> None:
    library, card = started()
    hear, buffer = library.stream.options["callback"], np.full((4, 1), 0.5, np.float32)
    hear(buffer, 4, None, FINE)
    buffer[:] = -0.5  # the library reuses its buffer
    hear(buffer, 4, None, OVERFLOW)
    heard = card.read(0.1)
    assert heard is not None
    assert np.array_equal(heard.samples, np.array([0.5] * 4 + [-0.5] * 4, np.float32))
    assert heard.overflowed
    assert card.read(0.0) is None


def test_a_stream_that_ends_by_itself_is_a_lost_device_after_what_it_gave() -> None:
    library, card = started()
    library.stream.options["callback"](np.zeros((4, 1), np.float32), 4, None, FINE)
    library.stream.options["finished_callback"]()
    heard = card.read(1.0)
    assert heard is not None
    assert heard.samples.size == 4
    with pytest.raises(DeviceLostError):
        card.read(1.0)


def test_stopping_is_not_a_lost_device() -> None:
    _, card = started()
    card.stop()
    card.stop()
    assert card.read(0.0) is None


def test_a_device_in_use() -> None:
    library = StandInLibrary(DEVICES, refuses=True)
    with pytest.raises(MissingExtraError, match="USB Interface does not open: Device unavailable"):
        SoundCard(library, choose_input(list_inputs(library), "interface")).start()


def test_the_click_is_played_on_the_same_clock_and_its_delay_known() -> None:
    click = Click(0.05, 4, 2)
    library, card = started(click=click)
    play = library.stream.options["callback"]
    clock = SimpleNamespace(inputBufferAdcTime=100.0, outputBufferDacTime=100.031)
    out = np.zeros((512, 1), np.float32)
    sound = []
    for _ in range(100):
        play(np.zeros((512, 1), np.float32), out, 512, clock, FINE)
        sound.append(out[:, 0].copy())
    assert np.array_equal(np.concatenate(sound), click_samples(click, 0, 51200, 48000))
    assert card.click_delay_s == pytest.approx(0.031)


def test_a_clock_that_tells_nothing_gives_the_stated_latencies() -> None:
    library, card = started(click=Click(0.5, 4, 1))
    clock = SimpleNamespace(inputBufferAdcTime=0.0, outputBufferDacTime=0.0)
    library.stream.options["callback"](np.zeros((8, 1), np.float32), np.zeros((8, 1), np.float32), 8, clock, FINE)
    assert card.click_delay_s == pytest.approx(0.03)


def test_a_missing_package_and_a_missing_library_say_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(MissingExtraError, match="extra 'record'") as error:
        sound_library()
    assert "takesheet[record]" in error.value.mend

    class NoLibrary:
        def find_spec(self, name: str, *_: object) -> None:
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice")
    monkeypatch.setattr(sys, "meta_path", [NoLibrary(), *sys.meta_path])
    with pytest.raises(MissingExtraError, match="PortAudio library") as error:
        sound_library()
    assert "libportaudio2" in error.value.mend
