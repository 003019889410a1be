"""What a whole line tells for one way of laying bars over it: bars that agree, chords that change, phrases, the end."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.grid import TICKS
from transcribe.rhythm.standing import Standing

Floats = NDArray[np.float64]

LAGS_BARS = (1, 2, 4, 8)
RUN = 3  # notes in a row that move alike make a figure come again
HELD = (0.72, 0.97)  # a last note sounds this share of what is written, at least and at most
LOOSE_TICKS = 3
LINE_FACTS = (
    *(f"chord {what}" for what in ("a bar", "a half", "from bar to bar", "from half to half", "bars", "at bar lines")),
    *(f"phrase {what}" for what in ("like the first", "at all", "downbeat", "middle", "beat", "half", "fine")),
    *(f"phrase after {bars} bars" for bars in (4, 2)),
    *(
        f"{bars} bars on: {what}"
        for bars in LAGS_BARS
        for what in ("struck", "same", "alike", "within", "figure as at first", "figure on downbeat", "other figure")
    ),
    *(f"bars {what}" for what in ("alike", "alike but one", "different", "full", "different, share")),
    *(f"bars {what}, share" for what in ("alike", "alike but one")),
    *(f"end {what}" for what in ("makes the pickup whole", "fills the bar", "of four bars", "of two bars")),
    *(f"last {what}" for what in ("home on downbeat", "home in the middle", "long on downbeat")),
)


def _triads() -> Floats:
    found = np.zeros((24, 12))
    for root in range(12):
        found[root, [root, (root + 4) % 12, (root + 7) % 12]] = 1.0
        found[12 + root, [root, (root + 3) % 12, (root + 7) % 12]] = 1.0
    return found


TRIADS = _triads()


def line_facts(line: Standing, last_quarters: float) -> Floats:
    """Return the LINE_FACTS of one reading; the last note sounds for ``last_quarters``."""
    return np.concatenate(
        [
            _chords(line),
            _phrases(line),
            *(_comes_again(line, bars) for bars in LAGS_BARS),
            _bars(line),
            _end(line, last_quarters),
        ]
    )


def _chords(line: Standing) -> Floats:
    """Quarters outside the best triad of each bar and half bar, and how much the pitches change between these."""
    bars, halves = (_by_span(line, ticks) for ticks in (line.bar, line.half_bar))
    mass = line.lengths.sum()
    change = _change(halves)
    first_half = int(line.at[0] // line.half_bar)
    at_line = (np.arange(first_half, first_half + change.size) + 1) % (line.bar // line.half_bar) == 0
    across = change[at_line].mean() if at_line.any() else 0.0
    within = change[~at_line].mean() if not at_line.all() else 0.0
    outside = [mass - (spans @ TRIADS.T).max(axis=1).sum() for spans in (bars, halves)]
    quarters = line.bar / TICKS
    return np.array([*outside, _change(bars).sum(), change.sum(), mass / quarters, (across - within) * len(bars)])


def _by_span(line: Standing, ticks: int) -> Floats:
    """Quarters of each pitch class in each span, shape (spans, 12)."""
    span = line.at // ticks - line.at[0] // ticks
    found = np.zeros((int(span[-1]) + 1, 12))
    np.add.at(found, (span, line.midi % 12), line.lengths)
    return found


def _change(spans: Floats) -> Floats:
    """One less the cosine between neighbours."""
    size = np.linalg.norm(spans, axis=1) + 1e-9
    found: Floats = 1 - (spans[1:] * spans[:-1]).sum(axis=1) / (size[1:] * size[:-1])
    return found


def _phrases(line: Standing) -> Floats:
    begins = np.flatnonzero(line.phrase)
    since = line.at[begins] - line.at[0]
    strengths = np.bincount(line.strength[begins], minlength=5)
    whole, pairs, fours = ((since % (bars * line.bar) == 0).sum() for bars in (1, 2, 4))
    return np.array([whole, begins.size, *strengths, fours, pairs], np.float64)


def _comes_again(line: Standing, bars: int) -> Floats:
    place, struck = line.later(bars * line.bar)
    step = np.diff(line.midi, append=line.midi[-1])
    together = struck[:-1] & struck[1:] & (place[1:] == place[:-1] + 1)
    alike = together & (step[place[:-1]] == step[:-1])
    same = struck & (line.midi[place] == line.midi)
    inside = line.at + bars * line.bar <= line.at[-1]
    runs = np.diff(np.concatenate(([0], alike.astype(np.int64), [0])))
    starts, ends = np.flatnonzero(runs == 1), np.flatnonzero(runs == -1)
    figure = line.at[starts[ends - starts >= RUN]] % line.bar
    first = line.at[0] % line.bar
    as_first, on_line = (figure == first).sum(), ((figure == 0) & (figure != first)).sum()
    counts = [struck.sum(), same.sum(), alike.sum(), inside.sum(), as_first, on_line, figure.size - as_first - on_line]
    return np.array(counts, np.float64)


def _bars(line: Standing) -> Floats:
    """Whether bars are divided like the one before, and like the last but one; the first and last are left out."""
    number = line.at // line.bar
    edges = np.searchsorted(number, np.arange(number[0], number[-1] + 2))
    inside = (line.at % line.bar).tolist()
    every = [tuple(inside[low:high]) for low, high in pairwise(edges.tolist())]
    full = every[1:-1] if len(every) > 2 else every
    alike = sum(one == other for one, other in pairwise(full))
    but_one = sum(one == other for one, other in zip(full, full[2:], strict=False))
    count, different = len(full), len(set(full))
    shares = [different / count, alike / max(1, count - 1), but_one / max(1, count - 2)]
    return np.array([alike, but_one, different, count, *shares], np.float64)


def _end(line: Standing, last_quarters: float) -> Floats:
    low = line.at[-1] + last_quarters * TICKS * HELD[1] - LOOSE_TICKS
    high = line.at[-1] + last_quarters * TICKS / HELD[0] + LOOSE_TICKS
    ends = [math.ceil((low - place) / line.bar) * line.bar + place <= high for place in (line.at[0] % line.bar, 0)]
    bars = int(line.at[-1] // line.bar) + 1
    home, strength = line.degree[-1] == 0, line.strength[-1]
    told = [*ends, bars % 4 == 0, bars % 2 == 0, home and strength == 0, home and strength == 1]
    return np.array([*told, strength == 0 and last_quarters > 1], np.float64)
