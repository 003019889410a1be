"""Tape: decoded blocks laid end to end as one channel, cut to a window, gaps filled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.decode import Block

# Containers round block times (Matroska to 1 ms) and encoders drift by a few; a real gap is longer than this.
TIME_JITTER_S = 0.02
LONGEST_GAP_S = 60.0  # a jump past this is a broken clock, not missing sound


@dataclass(frozen=True, slots=True)
class Window:
    """The stretch asked for, in seconds from the start of the file; ``to_s`` may be infinite."""

    from_s: float = 0.0
    to_s: float = float("inf")


class Tape:
    """Collects blocks in order. ``channel`` is the one channel to keep; None takes the average of all."""

    def __init__(self, window: Window, *, channel: int | None = None, max_rate_hz: int = 48_000) -> None:
        self._window = window
        self._channel = channel
        self._max_rate_hz = max_rate_hz
        self._rate_hz = 0  # of the blocks
        self._parts: list[NDArray[np.float32]] = []
        self._resampler: Any = None
        self._next_s: float | None = None  # where the next block should begin
        self.n_samples = 0  # kept, at the rate of the blocks
        self.start_s = 0.0  # time of the first sample kept
        self.heard_from_s = 0.0
        self.heard_to_s = 0.0
        self.filled_s = 0.0  # silence put in for missing sound
        self.filled_at_s = 0.0  # where the first of it lies
        self.unreadable_samples = 0
        self.stopped_by = ""
        self.mix_power = 0.0
        self.channel_power: NDArray[np.float64] = np.zeros(0)

    @property
    def length_s(self) -> float:
        """Seconds kept so far."""
        return self.n_samples / self._rate_hz if self._rate_hz else 0.0

    @property
    def rate_out_hz(self) -> int:
        """Sample rate of what ``finish`` returns."""
        return min(self._rate_hz, self._max_rate_hz)

    @property
    def began_late(self) -> bool:
        """Whether the first block came after the window's start, as after a seek with a broken index."""
        return self._window.from_s > 0 and self.heard_from_s > self._window.from_s + TIME_JITTER_S

    def add(self, block: Block) -> bool:
        """Lay a block on the tape; False once the window is full or the rest cannot be joined on."""
        if self._rate_hz and block.rate_hz != self._rate_hz:
            self.stopped_by = f"The sample rate changes at {self.heard_to_s:.2f} s; what comes after was left out."
            return False
        first = self._next_s is None
        if not first and block.time_s is not None and block.time_s - self.heard_to_s > LONGEST_GAP_S:
            self.stopped_by = f"The file's clock jumps at {self.heard_to_s:.2f} s; what comes after was left out."
            return False
        self._rate_hz = block.rate_hz
        time_s, channels = self._joined(block)
        if first:
            self.heard_from_s = time_s
        self._next_s = self.heard_to_s = time_s + channels.shape[1] / block.rate_hz
        kept, kept_s = self._inside_window(channels, time_s)
        if kept.shape[1]:
            if not self.n_samples:
                self.start_s = kept_s
            self._keep(kept)
        return self._next_s < self._window.to_s

    def finish(self) -> NDArray[np.float32]:
        """Return everything kept, shape (n_samples,), at ``rate_out_hz``."""
        if self._resampler is not None:
            self._parts.append(self._resampler.resample_chunk(np.zeros(0, np.float32), last=True))
            self._resampler = None
        whole = np.concatenate(self._parts) if self._parts else np.zeros(0, np.float32)
        self._parts = [whole]
        return whole

    def _joined(self, block: Block) -> tuple[float, NDArray[np.float32]]:
        """Return the block with missing sound before it filled in, or sound already heard cut off."""
        if self._next_s is None:
            return block.time_s or 0.0, block.channels
        drift_s = 0.0 if block.time_s is None else block.time_s - self._next_s
        if abs(drift_s) <= TIME_JITTER_S:
            return self._next_s, block.channels
        n = round(abs(drift_s) * block.rate_hz)
        if drift_s < 0:
            return self._next_s, block.channels[:, n:]
        self._fill(n)
        return self._next_s, block.channels

    def _fill(self, n: int) -> None:
        """Move on by ``n`` samples of silence, as far as they fall inside the window."""
        assert self._next_s is not None
        inside_from_s = max(self._next_s, self._window.from_s)
        self._next_s += n / self._rate_hz
        n_inside = round((min(self._next_s, self._window.to_s) - inside_from_s) * self._rate_hz)
        if n_inside > 0 and self.n_samples:
            self.filled_at_s = self.filled_at_s or inside_from_s
            self.filled_s += n_inside / self._rate_hz
            self._put(np.zeros(n_inside, np.float32))

    def _inside_window(self, channels: NDArray[np.float32], time_s: float) -> tuple[NDArray[np.float32], float]:
        n = channels.shape[1]
        first = min(n, max(0, round((self._window.from_s - time_s) * self._rate_hz)))
        room_s = min(self._window.to_s - time_s, n / self._rate_hz)
        last = max(first, min(n, round(room_s * self._rate_hz)))
        return channels[:, first:last], time_s + first / self._rate_hz

    def _keep(self, channels: NDArray[np.float32]) -> None:
        readable = np.isfinite(channels)
        if not readable.all():
            self.unreadable_samples += int((~readable).sum())
            channels = np.where(readable, channels, np.float32(0))
        power = np.square(channels, dtype=np.float64).sum(axis=1)
        if self.channel_power.size != power.size:  # a channel may come or go inside a stream
            grown = np.zeros(max(power.size, self.channel_power.size))
            grown[: self.channel_power.size] += self.channel_power
            self.channel_power = grown
        self.channel_power[: power.size] += power
        if self._channel is None:
            mono = channels.mean(axis=0, dtype=np.float32)
        else:
            mono = channels[min(self._channel, channels.shape[0] - 1)]
        self.mix_power += float(np.square(mono, dtype=np.float64).sum())
        self._put(np.ascontiguousarray(mono, dtype=np.float32))

    def _put(self, mono: NDArray[np.float32]) -> None:
        self.n_samples += mono.size
        if self._rate_hz <= self._max_rate_hz:
            self._parts.append(mono)
            return
        if self._resampler is None:
            import soxr

            self._resampler = soxr.ResampleStream(self._rate_hz, self._max_rate_hz, 1, dtype="float32")
        self._parts.append(self._resampler.resample_chunk(mono))
