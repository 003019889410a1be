"""A stand-in for a microphone: plays given sound to the recorder, and fails the way real devices fail."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from transcribe.audio.record import DeviceLostError, Heard


class StandInMicrophone:
    """Hands out ``sound`` block by block; ``events`` act before the block with that number is handed out."""

    name = "stand-in"
    click_delay_s = 0.025

    def __init__(
        self,
        sound: np.ndarray,
        rate_hz: int = 8000,
        *,
        block: int = 400,
        overflows: tuple[int, ...] = (),
        events: dict[int, Callable[[], None]] | None = None,
        then_silent: bool = False,
        lost: bool = False,
    ) -> None:
        self.rate_hz = rate_hz
        self._blocks = [sound[k : k + block].astype(np.float32) for k in range(0, sound.size, block)]
        self._overflows, self._events = overflows, events or {}
        self._then_silent, self._lost = then_silent, lost
        self.given = 0
        self.started = self.stopped = False

    def start(self) -> None:
        self.started = True

    def read(self, timeout_s: float) -> Heard | None:
        if self.stopped or (self.given >= len(self._blocks) and self._then_silent):
            return None
        event = self._events.pop(self.given, None)
        if event:
            event()
        if self.given >= len(self._blocks):
            if self._lost:
                raise DeviceLostError
            return None
        self.given += 1
        return Heard(self._blocks[self.given - 1], (self.given - 1) in self._overflows)

    def stop(self) -> None:
        self.stopped = True
