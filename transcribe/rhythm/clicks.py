"""A click in the take: a count-in before the playing, or a click track under it.

Clicks are told from notes by what a machine does and a hand does not: short sounds of one or two kinds, spaced to a few
milliseconds. The tolerances are our own, set between the click of ``audio/click.py`` and hands that stray by 6 ms and
more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.note import Note
from transcribe.rhythm.beat_times import BeatTimes

Floats = NDArray[np.float64]

LONGEST_HEARD_S = 120.0  # a click that begins later is not looked for
HOP_S, WINDOW_S = 0.002, 0.02
BANDS, LOWEST_HZ = 20, 500.0  # bands of equal ratio from here up; most of a guitar's power lies below
BEFORE_S, DEAD_S = 0.024, 0.11  # a start is louder than this long before, and a click has died away this long after
RISE_DB, FALL_DB = 12.0, 14.0
ONSET_DB = 10.0  # under its loudest, a click has begun
APART_S = 0.08  # of two starts nearer than this the louder is kept
SHORTEST_S, LONGEST_S = 0.2, 1.6  # from click to click
EVEN_S = 0.004  # clicks stray no further than this from an even row
COUNTED, UNDER_PLAYING = 4, 8  # fewest clicks in a row, in silence and among notes
LIKE = 0.8  # cosine between the colours of two clicks of one kind
KINDS = 2  # the first of a bar may sound otherwise
NEAR_S = 0.04  # a note this near a click may be the click itself
SHORT_S = 0.2  # and so may one no longer than this
BAR_COUNTS = (4, 3)  # clicks in a bar that a count-in is taken to have


@dataclass(frozen=True, slots=True)
class Clicks:
    """An even row of clicks."""

    times_s: tuple[float, ...]
    counted_in: bool  # in silence, before the playing

    @property
    def click_s(self) -> float:
        """From click to click."""
        return (self.times_s[-1] - self.times_s[0]) / (len(self.times_s) - 1)


def heard_clicks(samples: NDArray[np.floating], rate_hz: int) -> Clicks | None:
    """Return the longest even row of clicks in a take, None where there is none. ``samples`` has shape (n,).

    A few in silence are a count-in; among notes it takes more of them.
    """
    bands = _band_power(np.asarray(samples[: int(LONGEST_HEARD_S * rate_hz)], np.float32), rate_hz)
    if bands.shape[0] < round((BEFORE_S + DEAD_S) / HOP_S) * 2:
        return None
    for counted_in, fewest in ((True, COUNTED), (False, UNDER_PLAYING)):
        frames = _short_starts(bands, alone=counted_in)
        row = _longest_row(np.asarray(frames * HOP_S, np.float64), _colours(bands, frames))
        if len(row) >= fewest:
            times = _risen(bands, frames[row]) * HOP_S + WINDOW_S / 2
            slope, start = np.polyfit(np.arange(times.size), times, 1)
            if not SHORTEST_S <= slope <= LONGEST_S:  # starts that swell from nowhere: no machine's
                continue
            return Clicks(tuple((start + slope * np.arange(times.size)).tolist()), counted_in)
    return None


def click_beats(clicks: Clicks, notes: Sequence[Note], *, bar_beats: int | None = None) -> BeatTimes:
    """Return the beats that a row of clicks tells, from the first of a bar where that is clear.

    After a count-in of whole bars (of ``bar_beats`` clicks; of four or three when not told) bar 1 begins.
    """
    count, click_s = len(clicks.times_s), clicks.click_s
    sizes = (bar_beats,) if bar_beats else BAR_COUNTS
    whole = any(count % size == 0 for size in sizes)
    first_s = clicks.times_s[0] + count * click_s
    playing_s = min((note.onset_s for note in notes), default=first_s)
    if clicks.counted_in and whole and playing_s > first_s - count * click_s:
        return BeatTimes((first_s, *(first_s + index * click_s for index in range(1, count))), True, "click")
    return BeatTimes(clicks.times_s, False, "click")


def without_clicks(notes: Sequence[Note], clicks: Clicks) -> tuple[Note, ...]:
    """Return the notes that are no clicks: a click is heard as a short note at its time, at one of few pitches."""
    times = np.array(clicks.times_s)
    near = [bool(np.abs(times - note.onset_s).min() < NEAR_S) for note in notes]
    short = [note.offset_s - note.onset_s < SHORT_S for note in notes]
    before_s = clicks.times_s[-1] + 0.5 * clicks.click_s if clicks.counted_in else 0.0
    pitches = [note.midi for note, close, brief in zip(notes, near, short, strict=True) if close and brief]
    usual = {midi for midi in pitches if pitches.count(midi) * 2 * KINDS >= len(times)}
    return tuple(
        note
        for note, close, brief in zip(notes, near, short, strict=True)
        if not (close and brief and (note.onset_s < before_s or note.midi in usual))
    )


def _band_power(samples: NDArray[np.float32], rate_hz: int) -> Floats:
    """Return the power in each band, shape (frames, BANDS)."""
    window, hop = int(WINDOW_S * rate_hz), HOP_S * rate_hz
    count = max(0, int((samples.size - window) / hop))
    shape = np.hanning(window).astype(np.float32)
    hz = np.fft.rfftfreq(window, 1 / rate_hz)
    edges = LOWEST_HZ * (0.45 * rate_hz / LOWEST_HZ) ** (np.arange(BANDS + 1) / BANDS)
    member = ((hz >= edges[:-1, None]) & (hz < edges[1:, None])).astype(np.float32)
    found = np.empty((count, BANDS))
    for first in range(0, count, 500):  # bounded memory
        at = np.round(np.arange(first, min(first + 500, count)) * hop).astype(np.int64)
        pieces = samples[at[:, None] + np.arange(window)] * shape
        found[first : first + at.size] = np.abs(np.fft.rfft(pieces, axis=1)) ** 2 @ member.T
    return found


def _short_starts(bands: Floats, *, alone: bool) -> NDArray[np.int64]:
    """Return the frames where something short starts; ``alone``: nothing else sounds after it."""
    before, dead = round(BEFORE_S / HOP_S), round(DEAD_S / HOP_S)
    floor = bands.max() * 1e-7 + 1e-20
    level = 10 * np.log10(bands + floor)
    rise = level[before:-dead] - level[: -dead - before]
    fall = level[before:-dead] - level[before + dead :]
    if alone:
        whole = 10 * np.log10(bands.sum(axis=1) + floor)
        sharp = (whole[before:-dead] - whole[: -dead - before] > RISE_DB) & (
            whole[before:-dead] - whole[before + dead :] > FALL_DB
        )
        size = np.where(sharp, whole[before:-dead], -np.inf)
    else:
        sharp_bands = (rise > RISE_DB) & (fall > FALL_DB)
        size = np.where(
            sharp_bands.any(axis=1), np.where(sharp_bands, level[before:-dead], -np.inf).max(axis=1), -np.inf
        )
    return _peaks(size) + before


def _peaks(size: Floats) -> NDArray[np.int64]:
    """Return where ``size`` is largest within APART_S either way, in order."""
    reach = round(APART_S / HOP_S)
    found: list[int] = []
    for at in np.flatnonzero(np.isfinite(size)):
        if size[at] < size[max(0, at - reach) : at + reach + 1].max() or (found and at - found[-1] <= reach):
            continue
        found.append(int(at))
    return np.array(found, np.int64)


def _risen(bands: Floats, frames: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return for each loudest frame of a start the one where it came within ONSET_DB of that."""
    whole = bands.sum(axis=1)
    found = frames.copy()
    for index, frame in enumerate(frames):
        while found[index] > 0 and whole[found[index] - 1] > whole[frame] * 10 ** (-ONSET_DB / 10):
            found[index] -= 1
    return found


def _colours(bands: Floats, frames: NDArray[np.int64]) -> Floats:
    """Return what each start added in each band, as unit vectors of amplitude, shape (starts, BANDS)."""
    before = round(BEFORE_S / HOP_S)
    added = np.sqrt(np.maximum(bands[frames] - bands[frames - before], 0.0))
    size = np.linalg.norm(added, axis=1, keepdims=True)
    result: Floats = added / np.maximum(size, 1e-20)
    return result


def _longest_row(times: Floats, colours: Floats) -> list[int]:
    """Return the indices of the longest even row of like starts."""
    best: list[int] = []
    for first in range(times.size):
        for second in range(first + 1, times.size):
            step = times[second] - times[first]
            if step > LONGEST_S:
                break
            if step >= SHORTEST_S and first + len(best) < times.size:
                row = _row(times, colours, first, second)
                if len(row) > len(best):
                    best = row
    return best


def _row(times: Floats, colours: Floats, first: int, second: int) -> list[int]:
    row, kinds = [first], [first]
    following = second
    while True:
        if not any(colours[following] @ colours[kind] >= LIKE for kind in kinds):
            if len(kinds) == KINDS:
                return row
            kinds.append(following)
        row.append(following)
        step = (times[row[-1]] - times[first]) / (len(row) - 1)
        expected = times[first] + step * len(row)
        following = int(np.argmin(np.abs(times - expected)))
        if following <= row[-1] or abs(times[following] - expected) > EVEN_S:
            return row
