"""What the maps say around a place where a note may begin: before and after, other pitches, the rest of the take."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.voice_maps import VoiceMaps, shares

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

INTERVALS = (-28, -24, -19, -12, -7, -5, -2, -1, 1, 2, 5, 7, 12, 19, 24)  # of other pitches, in semitones
TOGETHER = 3  # frames within which two notes are struck at once
DIFFERENCE_SEMITONES = 0.6  # tempered notes have difference tones that lie between the semitones
STRONG = 0.5  # an onset surely heard
NEIGHBOURHOOD_S = 12.0  # of a take around a moment, in which a body answers alike


def context_features(maps: VoiceMaps, frames: Whole, rows: Whole, *, lag_s: float | None) -> Floats:
    """Return features of each place (frame, row), shape (n, features); ``lag_s`` is the delay of an echo, or None."""
    pad = 24
    picked, legato, held = (_padded(shares(each), pad) for each in (maps.picked, maps.legato, maps.held))
    fine = _padded(shares(maps.contour), pad)
    contour = fine.reshape(len(fine), -1, maps.sub_bins).max(axis=2)
    at = frames + pad
    columns = [
        *_own(picked, legato, held, contour, at, rows),
        *_others(picked, contour, at, rows),
        *_glides(fine, maps.sub_bins, at, rows),
        *_difference_tones(picked, contour, at, rows, maps.lowest_midi),
        *_loudness(maps, frames),
        *_habits(picked, at, rows, maps.hop_s),
        _repeats(picked, at, rows, None if lag_s is None else round(lag_s / maps.hop_s)),
        (rows + maps.lowest_midi - 60.0) / 12.0,
    ]
    return np.stack(columns, axis=1)


def log_odds(share: NDArray[np.floating]) -> Floats:
    """Return shares as logarithms of their odds, kept within about 4.6 either way."""
    return np.log((np.asarray(share, dtype=np.float64) + 0.01) / (1.01 - share))


def _padded(values: NDArray[np.float32], pad: int) -> NDArray[np.float32]:
    return np.pad(values, ((pad, pad), (0, 0)))


def _span(values: NDArray[np.float32], at: Whole, rows: Whole, first: int, last: int) -> NDArray[np.float32]:
    """Values of each place's row from ``first`` to ``last`` frames from it, shape (n, frames)."""
    inside = (rows >= 0) & (rows < values.shape[1])
    kept = np.clip(rows, 0, values.shape[1] - 1)
    return np.asarray(values[at[:, None] + np.arange(first, last + 1), kept[:, None]] * inside[:, None])


def _own(
    picked: NDArray[np.float32],
    legato: NDArray[np.float32],
    held: NDArray[np.float32],
    contour: NDArray[np.float32],
    at: Whole,
    rows: Whole,
) -> list[Floats]:
    """The pitch's own maps, at the moment, before and after."""
    means = [
        _span(each, at, rows, first, last).mean(axis=1)
        for each, first, last in (
            (contour, -14, -7), (contour, -6, -2), (contour, 1, 4), (contour, 5, 10), (contour, 11, 20),
            (held, -6, -2), (held, 1, 5), (held, 8, 16), (picked, -2, 2), (legato, -2, 2),
        )
    ]  # fmt: skip
    tops = [
        _span(each, at, rows, first, last).max(axis=1)
        for each, first, last in (
            (picked, 0, 0), (legato, 0, 0), (picked, -14, -4), (picked, 4, 14), (legato, -14, -4), (legato, 4, 14),
        )
    ]  # fmt: skip
    return [np.asarray(each, dtype=np.float64) for each in means] + [log_odds(each) for each in tops]


def _others(picked: NDArray[np.float32], contour: NDArray[np.float32], at: Whole, rows: Whole) -> list[Floats]:
    """Other pitches struck now, sounding now, and sounding before, at each interval; how much is struck in all."""
    found: list[Floats] = []
    for interval in INTERVALS:
        there = rows + interval
        found.append(np.asarray(_span(picked, at, there, -TOGETHER, TOGETHER).max(axis=1), dtype=np.float64))
        found.append(np.asarray(_span(contour, at, there, 1, 5).mean(axis=1), dtype=np.float64))
        if abs(interval) not in (2, 5, 7):
            found.append(np.asarray(_span(contour, at, there, -6, -2).mean(axis=1), dtype=np.float64))
    struck = picked[at[:, None] + np.arange(-TOGETHER, TOGETHER + 1)].max(axis=1)  # (n, rows)
    near = np.abs(np.arange(picked.shape[1])[None, :] - rows[:, None]) <= 1
    others = np.where(near, 0.0, struck)
    found += [log_odds(others.max(axis=1)), np.minimum(others.sum(axis=1), 6.0).astype(np.float64)]
    return found


def _glides(fine: NDArray[np.float32], sub_bins: int, at: Whole, rows: Whole) -> list[Floats]:
    """The contour just above and below the pitch shortly before: a bend or release arrives through there."""
    middle = rows * sub_bins + sub_bins // 2
    return [
        np.asarray(_span(fine, at, middle + sign * away, -7, 0).max(axis=1), dtype=np.float64)
        for sign in (-1, 1)
        for away in (2, 3)
    ]


def _difference_tones(
    picked: NDArray[np.float32], contour: NDArray[np.float32], at: Whole, rows: Whole, lowest_midi: int
) -> list[Floats]:
    """How surely two other notes are struck, or sound, whose difference tone lies on the pitch.

    Distortion makes tones at f2 - f1 and 2 f1 - f2 of any two (H. Helmholtz, On the Sensations of Tone, chapter 7).
    """
    near = at[:, None] + np.arange(-TOGETHER, TOGETHER + 1)
    struck = picked[near].max(axis=1)
    sounding = contour[at[:, None] + np.arange(1, 6)].mean(axis=1)
    found = [np.zeros(at.size), np.zeros(at.size)]
    for row in np.unique(rows):
        first, second = difference_pairs(int(row), lowest_midi, picked.shape[1])
        mine = np.flatnonzero(rows == row)
        if first.size:
            for column, levels in zip(found, (struck, sounding), strict=True):
                both = np.minimum(levels[mine][:, first], levels[mine][:, second])
                column[mine] = both.max(axis=1)
    return found


@cache
def difference_pairs(row: int, lowest_midi: int, count: int) -> tuple[Whole, Whole]:
    """Return the rows of all pairs of notes, lower ones first, that have a difference tone on a row's pitch."""
    hz = 440.0 * 2.0 ** ((np.arange(count) + lowest_midi - 69) / 12)
    low, high = np.triu_indices(count, 1)
    tones = np.stack([hz[high] - hz[low], 2 * hz[low] - hz[high]])
    away = 12 * np.abs(np.log2(np.maximum(tones, 1e-3) / hz[row]))
    fits = (away.min(axis=0) < DIFFERENCE_SEMITONES) & (np.abs(low - row) > 1) & (np.abs(high - row) > 1)
    return low[fits], high[fits]


def _loudness(maps: VoiceMaps, frames: Whole) -> list[Floats]:
    """How the level moves, and how loud it is for the take, in tens of decibels."""
    level = np.pad(maps.level_db.astype(np.float64), 12, mode="edge")
    at = frames + 12

    def span(first: int, last: int) -> Floats:
        return np.asarray(level[at[:, None] + np.arange(first, last + 1)])

    loud = float(np.percentile(maps.level_db, 95))
    after = span(0, 4).max(axis=1)
    return [
        (after - span(-5, -2).min(axis=1)) / 10,
        (after - loud) / 10,
        (span(6, 11).mean(axis=1) - span(-6, -3).mean(axis=1)) / 10,
    ]


def _habits(picked: NDArray[np.float32], at: Whole, rows: Whole, hop_s: float) -> list[Floats]:
    """How often this pitch answers the attacks of others, and how often it is struck without them.

    A body resonance answers nearly every attack and is struck alone never.
    """
    top = np.lib.stride_tricks.sliding_window_view(
        np.pad(picked, ((TOGETHER, TOGETHER), (0, 0))), 2 * TOGETHER + 1, axis=0
    ).max(axis=-1)
    strongest = picked.max(axis=1)
    near_top = np.lib.stride_tricks.sliding_window_view(np.pad(strongest, 4), 9).max(axis=1)
    moments = np.flatnonzero((strongest >= STRONG) & (strongest >= near_top))
    reach = round(NEIGHBOURHOOD_S / hop_s)
    answers, alone = np.zeros(at.size), np.zeros(at.size)
    for k, (frame, row) in enumerate(zip(at, rows, strict=True)):
        first, last = np.searchsorted(moments, (frame - reach, frame + reach))
        around = moments[first:last]
        around = around[np.abs(around - frame) > TOGETHER]
        elsewhere = np.delete(top[around], np.arange(max(0, row - 1), min(row + 2, picked.shape[1])), axis=1)
        others = elsewhere.max(axis=1) >= STRONG if around.size else np.zeros(0, dtype=bool)
        here = top[around, row]
        answers[k] = (here[others].sum() + 0.2) / (others.sum() + 1.0)
        alone[k] = (here[~others] >= STRONG).sum() / 4.0
    return [answers, np.minimum(alone, 1.0)]


def _repeats(picked: NDArray[np.float32], at: Whole, rows: Whole, lag: int | None) -> Floats:
    """How surely the same pitch was struck one delay (frames) earlier, where the take has a delay effect; else 0."""
    if lag is None:
        return np.zeros(at.size)
    return np.asarray(_span(picked, np.maximum(at - lag, 3), rows, -3, 3).max(axis=1), dtype=np.float64)
