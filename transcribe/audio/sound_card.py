"""Microphones and sound cards of this computer, by way of PortAudio (the package ``sounddevice``, an extra)."""

from __future__ import annotations

import queue
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.click import Click, click_samples
from transcribe.audio.record import DeviceLostError, Heard
from transcribe.errors import MissingExtraError, SettingsError


@dataclass(frozen=True, slots=True)
class InputDevice:
    """One input a person can choose."""

    index: int  # PortAudio's number
    name: str
    channels: int
    rate_hz: int  # the one it prefers
    is_default: bool


def sound_library() -> Any:
    """Return the module ``sounddevice``; raises MissingExtraError with what to install."""
    try:
        import sounddevice
    except ImportError:
        raise MissingExtraError(
            "recording needs the extra 'record', which is not installed", 'Install it: pip install "takesheet[record]"'
        ) from None
    except OSError:
        raise MissingExtraError(
            "recording needs the PortAudio library, which was not found",
            "Install it from your system's packages (Debian and Ubuntu: apt install libportaudio2).",
        ) from None
    return sounddevice


def list_inputs(library: Any) -> tuple[InputDevice, ...]:
    """Return the inputs of this computer, the default one first; raises MissingExtraError when there is none."""
    try:
        devices = list(library.query_devices())
        default = library.default.device[0]
    except library.PortAudioError as error:
        raise MissingExtraError(
            f"the sound system does not answer: {error}", "Check that sound works at all."
        ) from None
    found = [
        (device["hostapi"], InputDevice(
            index,
            str(device["name"]),
            int(device["max_input_channels"]),
            int(device["default_samplerate"]),
            index == default,
        ))
        for index, device in enumerate(devices)
        if device["max_input_channels"] > 0
    ]  # fmt: skip
    # The same device shows up once for each sound system (on Windows three times): that of the default is enough.
    main_api = devices[default]["hostapi"] if 0 <= default < len(devices) else 0
    inputs = [device for api, device in found if api == main_api] or [device for _, device in found]
    if not inputs:
        raise MissingExtraError("no microphone or audio input was found", "Plug one in, and check that it is allowed.")
    return tuple(sorted(inputs, key=lambda device: not device.is_default))


def choose_input(inputs: Sequence[InputDevice], name: str | None) -> InputDevice:
    """Return the input with this name or part of a name, or the default one for None.

    Upper and lower case do not matter; a whole name wins over a part. Raises SettingsError that lists the names.
    """
    if name is None:
        return inputs[0]
    wanted = name.strip().casefold()
    whole = [device for device in inputs if device.name.casefold() == wanted]
    found = whole or [device for device in inputs if wanted and wanted in device.name.casefold()]
    if len(found) == 1 or (whole and len({device.name for device in whole}) == 1):
        return found[0]
    names = ", ".join(f"'{device.name}'" for device in (found or inputs))
    if found:
        raise SettingsError(f"{len(found)} inputs match {name!r}", f"Give more of the name: {names}.")
    raise SettingsError(f"no input is called {name!r}", f"There are: {names}.")


class SoundCard:
    """A Microphone on a real input; with a click it also plays to the default output, on the same clock."""

    def __init__(self, library: Any, device: InputDevice, *, channel: int = 1, click: Click | None = None) -> None:
        if not 1 <= channel <= device.channels:
            raise SettingsError(
                f"{device.name} has no input channel {channel}", f"Give --channel from 1 to {device.channels}."
            )
        self.name, self.rate_hz = device.name, device.rate_hz
        self._library, self._device, self._channel, self._click = library, device, channel, click
        self._arrived: queue.SimpleQueue[Heard | None] = queue.SimpleQueue()  # None: the stream has ended
        self._stream: Any = None
        self._played = 0
        self._delay_s: float | None = None
        self._stopping = False

    @property
    def click_delay_s(self) -> float:
        """How much later a sample played at the start is heard than the first one recorded."""
        return self._delay_s or 0.0

    def start(self) -> None:
        """Open the device; raises MissingExtraError when it does not open."""
        options: dict[str, Any] = {"samplerate": self.rate_hz, "dtype": "float32", "finished_callback": self._finished}
        try:
            if self._click is None:
                self._stream = self._library.InputStream(
                    device=self._device.index, channels=self._channel, callback=self._hear, **options
                )
            else:
                self._stream = self._library.Stream(
                    device=(self._device.index, None),
                    channels=(self._channel, 1),
                    callback=self._hear_and_play,
                    **options,
                )
            self._stream.start()
        except (self._library.PortAudioError, ValueError) as error:
            self.stop()
            raise MissingExtraError(
                f"{self.name} does not open: {error}",
                "Close other programs that use it, or choose another --input; --list-inputs shows them.",
            ) from None

    def read(self, timeout_s: float) -> Heard | None:
        """Return what arrived, or None when nothing did in time; raises DeviceLostError."""
        try:
            first = self._arrived.get(timeout=timeout_s)
        except queue.Empty:
            return None
        parts: list[NDArray[np.float32]] = []
        overflowed = False
        while True:
            if first is None:
                if not parts:
                    raise DeviceLostError
                self._arrived.put(None)  # for the next look: what came before it is handed out first
                break
            parts.append(first.samples)
            overflowed |= first.overflowed
            if self._arrived.empty():
                break
            first = self._arrived.get()
        return Heard(np.concatenate(parts), overflowed)

    def stop(self) -> None:
        """Stop and close the stream."""
        self._stopping = True
        if self._stream is not None:
            with suppress(self._library.PortAudioError):
                self._stream.abort()
            with suppress(self._library.PortAudioError):
                self._stream.close()

    def _hear(self, indata: Any, frames: int, time: Any, status: Any) -> None:
        self._arrived.put(Heard(indata[:, self._channel - 1].copy(), bool(status.input_overflow)))

    def _hear_and_play(self, indata: Any, outdata: Any, frames: int, time: Any, status: Any) -> None:
        if self._delay_s is None:
            self._delay_s = self._delay(time)
        assert self._click is not None
        outdata[:, 0] = click_samples(self._click, self._played, frames, self.rate_hz)
        self._played += frames
        self._hear(indata, frames, time, status)

    def _delay(self, time: Any) -> float:
        """From the first sample heard to the first one played, by the card's clock, or else by its stated latencies."""
        heard_s, played_s = float(time.inputBufferAdcTime), float(time.outputBufferDacTime)
        if 0 < heard_s < played_s < heard_s + 2.0:
            return played_s - heard_s
        latency = self._stream.latency if self._stream is not None else (0.0, 0.0)
        return float(sum(latency))

    def _finished(self) -> None:
        if not self._stopping:
            self._arrived.put(None)
