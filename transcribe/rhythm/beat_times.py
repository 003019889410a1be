"""Beats whose times are known: tapped by a person, or the clicks heard in a take. They straighten the onsets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import SettingsError
from transcribe.rhythm.onsets import Moment

Floats = NDArray[np.float64]
SHORTEST_BEAT_S, LONGEST_BEAT_S = 0.15, 3.0  # 400 and 20 beats a minute
FEWEST_BEATS = 2
SAME_STEP, SAME_PLACE = 0.01, 0.1  # in beats: how far the beats and the places of one row may seem to differ
STEADY_S = 0.05  # beats nowhere further than this from an even row are taken as even: taps are less steady than that


@dataclass(frozen=True, slots=True)
class BeatTimes:
    """Beats in a row, none left out; before the first and after the last they go on evenly."""

    times_s: tuple[float, ...]
    starts_bar: bool  # whether the first of them is the first of a bar
    source: Literal["given", "click"] = "given"

    def __post_init__(self) -> None:
        steps = np.diff(self.times_s)
        if len(self.times_s) < FEWEST_BEATS:
            raise SettingsError(
                "one beat tells no tempo", "Give the times of two beats or more, for example 1.2,1.8,2.4."
            )
        if steps.min() < SHORTEST_BEAT_S or steps.max() > LONGEST_BEAT_S:
            raise SettingsError(
                f"beats {steps.min():.2f} to {steps.max():.2f} s apart are no beat",
                f"Give times in order, {SHORTEST_BEAT_S:g} to {LONGEST_BEAT_S:g} s apart.",
            )

    @property
    def beat_s(self) -> float:
        """Usual length of a beat."""
        return (self.times_s[-1] - self.times_s[0]) / (len(self.times_s) - 1)

    def evened(self, at_s: float | Floats) -> Floats:
        """Return when something heard at ``at_s`` would sound if all beats were ``beat_s`` long from the first on.

        >>> BeatTimes((1.0, 2.0, 4.0), True).evened(np.array([1.5, 3.0])).tolist()
        [1.75, 3.25]
        """
        return self.times_s[0] + _between(np.asarray(at_s, np.float64), self._smooth(), self._index()) * self.beat_s

    def heard(self, even_s: float) -> float:
        """Return when something at ``even_s`` on the even beats was played; the reverse of ``evened``."""
        index = (even_s - self.times_s[0]) / self.beat_s
        return float(_between(np.asarray(index), self._index(), self._smooth()))

    def _index(self) -> Floats:
        return np.arange(len(self.times_s), dtype=np.float64)

    def _smooth(self) -> Floats:
        """The beats, laid on one even row when they stray from it by no more than a hand would."""
        times, index = np.array(self.times_s), self._index()
        slope, start = np.polyfit(index, times, 1)
        even: Floats = start + slope * index
        return even if np.abs(times - even).max() <= STEADY_S else times


def _between(at: Floats, known: Floats, wanted: Floats) -> Floats:
    """Return ``wanted`` at places between the ``known``, going on evenly beyond both ends."""
    low = np.clip(np.searchsorted(known, at, side="right") - 1, 0, known.size - 2)
    share = (at - known[low]) / (known[low + 1] - known[low])
    result: Floats = wanted[low] + share * (wanted[low + 1] - wanted[low])
    return result


def gone_on(beats: BeatTimes, later: BeatTimes) -> BeatTimes:
    """Return ``beats`` going on to the end of ``later``, or as they are when ``later`` is not the same row.

    >>> gone_on(BeatTimes((1.0, 2.0), True), BeatTimes((5.0, 6.0), False)).times_s
    (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
    """
    spans = np.array([len(beats.times_s) - 1, len(later.times_s) - 1])
    beat_s = float(np.average([beats.beat_s, later.beat_s], weights=spans))
    last_s = beats.times_s[-1]
    new = tuple(time for time in later.times_s if time > last_s + 0.5 * beat_s)
    if not new or abs(later.beat_s - beats.beat_s) > SAME_STEP * beat_s:
        return beats
    places = (new[0] - last_s) / beat_s
    if abs(places - round(places)) > SAME_PLACE:
        return beats
    between = np.linspace(last_s, new[0], round(places) + 1)[1:-1].tolist()
    return replace(beats, times_s=(*beats.times_s, *between, *new))


def straightened(heard: Sequence[Moment], beats: BeatTimes) -> tuple[Moment, ...]:
    """Return the moments as if the beats were even."""
    starts = beats.evened(np.array([moment.onset_s for moment in heard]))
    ends = beats.evened(np.array([moment.end_s for moment in heard]))
    return tuple(
        replace(moment, onset_s=float(start), end_s=float(end))
        for moment, start, end in zip(heard, starts, ends, strict=True)
    )
