"""A take from a microphone, written as it comes. Knows no sound library: see ``sound_card.py`` for the real device."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.click import Click
from transcribe.audio.growing_wav import GrowingWav
from transcribe.errors import WriteError
from transcribe.settings import AudioSettings

Ending = Literal["stopped", "interrupted", "time is up", "device lost", "disk full", "longest take"]
WAIT_S = 0.1  # how long one look for sound may take: the pace of the level meter and of Enter
DEAD_AFTER_S = 3.0  # a device that delivers nothing for so long is gone
MOST_LEFT_OVER = 100  # looks for sound that arrived before the end
FULL_SCALE = 0.999
CLIPPING_RUN = 3  # samples at full scale in a row


class DeviceLostError(Exception):
    """Raised by a microphone that has gone away."""


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """Sound that arrived since the last look."""

    samples: NDArray[np.float32]  # shape (n_samples,), full scale is 1.0
    overflowed: bool = False  # the sound card dropped some before it


class Microphone(Protocol):
    """What the recorder needs of an input device."""

    name: str
    rate_hz: int

    @property
    def click_delay_s(self) -> float:
        """How much later a sample played at the start is heard than the first one recorded; known once started."""
        ...

    def start(self) -> None:
        """Begin to listen (and to play the click, if it was opened with one)."""
        ...

    def read(self, timeout_s: float) -> Heard | None:
        """Return what arrived, or None when nothing did in time; raises DeviceLostError."""
        ...

    def stop(self) -> None:
        """Stop and let go of the device; may be called at any time, more than once."""
        ...


@dataclass(frozen=True, slots=True)
class Level:
    """How the take stands right now, for a meter."""

    duration_s: float
    peak: float  # of the last look, full scale is 1.0
    clipped: bool  # in the last look


@dataclass(frozen=True, slots=True)
class TakeRecord:
    """What was recorded, and what went wrong while it was."""

    path: Path
    duration_s: float
    peak: float  # of the whole take, full scale is 1.0
    clipped_s: tuple[float, ...]  # when the input was overloaded, from the start of the file
    dropped_s: tuple[float, ...]  # when the sound card dropped samples
    ended: Ending
    downbeat_s: float | None  # first beat after the count-in, from the start of the file; None without a click


def record_take(
    microphone: Microphone,
    path: Path,
    *,
    seconds: float | None = None,
    click: Click | None = None,
    should_stop: Callable[[], bool] = lambda: False,
    on_level: Callable[[Level], None] = lambda level: None,
    settings: AudioSettings | None = None,
) -> TakeRecord:
    """Record until ``should_stop`` says so, ``seconds`` of playing are over, or something ends it; return what was got.

    The count-in comes on top of ``seconds``. Ctrl-C, a vanished device or a full disk end the take and keep the file;
    only a file without a single sample is taken away again.
    Raises WriteError when the file cannot be made and whatever ``microphone.start`` raises; nothing is recorded then.
    """
    settings = settings or AudioSettings()
    lead_s = click.downbeat_s if click else 0.0
    longest_s = settings.max_take_s if seconds is None else min(settings.max_take_s, seconds + lead_s)
    at_limit: Ending = "longest take" if longest_s == settings.max_take_s and seconds is None else "time is up"
    state = _State()
    with GrowingWav(path, microphone.rate_hz) as wav:
        try:
            microphone.start()
            ended = _listen(microphone, wav, state, longest_s, at_limit, should_stop, on_level)
        except KeyboardInterrupt:
            ended = "interrupted"
        except DeviceLostError:
            ended = "device lost"
        finally:
            microphone.stop()
            if not wav.n_samples:
                wav.discard()
        if ended in ("stopped", "interrupted"):
            _drain(microphone, wav, round(longest_s * microphone.rate_hz))
    if ended == "disk full" and not wav.n_samples:
        raise WriteError(f"no room to write {path}", "Free some space, or choose another --out folder.")
    downbeat_s = None if click is None else max(0.0, click.downbeat_s + microphone.click_delay_s)
    return TakeRecord(
        path, wav.duration_s, state.peak, tuple(state.clipped_s), tuple(state.dropped_s), ended, downbeat_s
    )


class _State:
    """What is kept in mind while recording."""

    def __init__(self) -> None:
        self.peak = 0.0
        self.clipped_s: list[float] = []
        self.dropped_s: list[float] = []


def _listen(
    microphone: Microphone,
    wav: GrowingWav,
    state: _State,
    longest_s: float,
    at_limit: Ending,
    should_stop: Callable[[], bool],
    on_level: Callable[[Level], None],
) -> Ending:
    silent_s = 0.0
    longest_samples = round(longest_s * microphone.rate_hz)
    while not should_stop():
        heard = microphone.read(WAIT_S)
        if heard is None or not heard.samples.size:
            silent_s += WAIT_S
            if silent_s >= DEAD_AFTER_S:
                raise DeviceLostError
            continue
        silent_s = 0.0
        if heard.overflowed:
            state.dropped_s.append(wav.duration_s)
        samples, whole = _numbers_only(heard.samples[: longest_samples - wav.n_samples])
        if not whole and not heard.overflowed:
            state.dropped_s.append(wav.duration_s)
        peak, clipped = float(np.abs(samples).max()), is_clipped(samples)
        if clipped:
            state.clipped_s.append(wav.duration_s)
        state.peak = max(state.peak, peak)
        try:
            wav.write(samples)
        except OSError:
            return "disk full"
        on_level(Level(wav.duration_s, peak, clipped))
        if wav.n_samples >= longest_samples or not wav.has_room:
            return at_limit
    return "stopped"


def _drain(microphone: Microphone, wav: GrowingWav, longest_samples: int) -> None:
    """Write what had arrived but was not looked at yet, when the device and the disk still let us."""
    with suppress(DeviceLostError, OSError):
        for _ in range(MOST_LEFT_OVER):
            heard = microphone.read(0.0)
            if heard is None or wav.n_samples >= longest_samples:
                return
            wav.write(_numbers_only(heard.samples[: longest_samples - wav.n_samples])[0])


def _numbers_only(samples: NDArray[np.float32]) -> tuple[NDArray[np.float32], bool]:
    """Return the samples with silence for what is no number (a faulty driver), and whether all were numbers."""
    fine = np.isfinite(samples)
    return (samples, True) if fine.all() else (np.where(fine, samples, np.float32(0)), False)


def is_clipped(samples: NDArray[np.float32]) -> bool:
    """Whether some samples in a row stand at full scale."""
    at_top = np.abs(samples) >= FULL_SCALE
    if not at_top.any():
        return False
    return bool(np.convolve(at_top, np.ones(CLIPPING_RUN, np.int64)).max() >= CLIPPING_RUN)
