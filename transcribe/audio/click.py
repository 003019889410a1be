"""The click a player counts in with: soft ticks, the first of each bar higher."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import SettingsError

LEAD_IN_S = 0.5  # quiet before the first tick, for sound cards that swallow their first moments
TICK_S = 0.03
BAR_TICK_HZ, TICK_HZ = 1760.0, 1320.0  # well above a guitar's fundamentals, an interval of a fourth apart
LEVEL = 0.1  # 20 dB below full scale: ears first
MOST_COUNT_IN_BARS = 8


@dataclass(frozen=True, slots=True)
class Click:
    """When ticks sound, in seconds from the first sample played."""

    tick_s: float  # from tick to tick
    ticks_a_bar: int
    count_in_bars: int
    through: bool = False  # go on through the take

    def __post_init__(self) -> None:
        if not 0.05 <= self.tick_s <= 5:
            raise SettingsError(f"a tick every {self.tick_s:g} s is no count-in", "Give a tempo from 20 to 400.")
        if not 0 <= self.count_in_bars <= MOST_COUNT_IN_BARS:
            raise SettingsError(
                f"a count-in of {self.count_in_bars} bars", f"Give 0 to {MOST_COUNT_IN_BARS} bars; 1 or 2 are usual."
            )

    @property
    def downbeat_s(self) -> float:
        """When the first beat after the count-in falls."""
        return LEAD_IN_S + self.count_in_bars * self.ticks_a_bar * self.tick_s

    @property
    def bar_s(self) -> float:
        """Length of a bar."""
        return self.ticks_a_bar * self.tick_s


def click_samples(click: Click, first: int, n: int, rate_hz: int) -> NDArray[np.float32]:
    """Return samples ``first`` to ``first + n`` of the click, shape (n,): a stream asks for it bit by bit.

    >>> bool(click_samples(Click(0.5, 4, 1), 0, 100, 8000).any())
    False
    """
    times_s = (first + np.arange(n)) / rate_hz - LEAD_IN_S
    ticks = np.floor(times_s / click.tick_s + 1e-9).astype(np.int64)
    since_s = times_s - ticks * click.tick_s
    counted = click.count_in_bars * click.ticks_a_bar
    sounds = (ticks >= 0) & (since_s < TICK_S) & (click.through | (ticks < counted))
    pitch_hz = np.where(ticks % click.ticks_a_bar == 0, BAR_TICK_HZ, TICK_HZ)
    shape = LEVEL * np.sin(np.pi * np.clip(since_s / TICK_S, 0, 1)) ** 2
    return np.where(sounds, shape * np.sin(2 * np.pi * pitch_hz * since_s), 0.0).astype(np.float32)
