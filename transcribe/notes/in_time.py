"""Which moments lie near another, without looking at all of them."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

SLACK = 1e-6  # beyond what is asked for, so that rounding loses nothing before the distance itself is measured


class Moments:
    """Moments in seconds or frames, in any order, to be asked again and again; never changed once made."""

    __slots__ = ("_numbers", "_times")

    def __init__(self, times: Iterable[float]) -> None:
        told = np.array(list(times), dtype=np.float64)
        self._numbers = np.argsort(told, kind="stable")
        self._times = told[self._numbers]

    def within(self, reach: float, at: float) -> tuple[int, ...]:
        """Return the numbers of all moments no farther than ``reach`` from ``at``, rising; in the unit of both.

        >>> Moments([2.0, 0.5, 1.9]).within(0.2, 2.0)
        (0, 2)
        """
        first = np.searchsorted(self._times, at - reach - SLACK)
        last = np.searchsorted(self._times, at + reach + SLACK, side="right")
        near = np.abs(self._times[first:last] - at) <= reach
        return tuple(np.sort(self._numbers[first:last][near]).tolist())
