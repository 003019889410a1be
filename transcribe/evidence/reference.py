"""How far the guitar is from concert pitch, from the steady parts of the take."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.settings import EvidenceSettings

Floats = NDArray[np.float64]
SEMITONE_CENTS = 100.0


@dataclass(frozen=True, slots=True)
class TuningOffset:
    """The guitar's own tuning, and how sure that is."""

    cents: float  # above zero when the guitar is sharp; from -50 up to 50
    error_cents: float  # standard error of ``cents``; infinite when no steady pitch was found


def tuning_offset(
    times_s: Floats, midi: Floats, settings: EvidenceSettings, *, reference_hz: float = 440.0
) -> TuningOffset:
    """Return how far the steady pitches lie from equal temperament on ``reference_hz``.

    ``midi`` is the fine pitch of each frame, fractional, NaN where none is read. A frame counts less the faster its
    pitch moves, and no steady part counts for more than half a second, so neither a slide nor one long bend held off
    pitch decides. The densest place on the circle of one semitone is found first, then the mean around it (N. I.
    Fisher, "Statistical Analysis of Circular Data", Cambridge University Press 1993, chapter 2).
    """
    frames = np.flatnonzero(np.isfinite(midi))
    if frames.size < 2:
        return TuningOffset(0.0, float("inf"))
    hop = float(np.diff(times_s).min())
    cents = SEMITONE_CENTS * (midi[frames] - 12.0 * np.log2(reference_hz / 440.0))
    apart = (np.diff(frames) > 1) | (np.diff(times_s[frames]) > 1.5 * hop) | (np.abs(np.diff(cents)) > 50.0)
    hold = np.concatenate(([0], np.cumsum(apart)))
    weight = _steadiness(cents, hold, hop, settings.steady_cents_per_s)
    per_hold = np.bincount(hold, weight)
    weight *= np.minimum(1.0, settings.steady_most_s / hop / np.maximum(per_hold, 1e-9))[hold]
    if weight.sum() < settings.steady_least_s / hop:
        return TuningOffset(0.0, float("inf"))

    grid = np.arange(-50.0, 50.0)
    density = np.exp(-0.5 * (_around(cents[None, :] - grid[:, None]) / 6.0) ** 2) @ weight
    middle = float(grid[density.argmax()])
    for _ in range(5):
        off = _around(cents - middle)
        near = weight * (np.abs(off) < 15.0)
        middle += float((near * off).sum() / max(near.sum(), 1e-9))
    off = _around(cents - middle)
    spread = float(np.sqrt((near * off**2).sum() / max(near.sum(), 1e-9)))
    per_hold = np.bincount(hold, near)
    several = float(per_hold.sum() ** 2 / max((per_hold**2).sum(), 1e-9))  # as many holds of equal weight (Kish)
    return TuningOffset(cents=float(_around(np.array(middle))), error_cents=max(spread, 1.0) / float(np.sqrt(several)))


def _around(cents: Floats) -> Floats:
    """Return intervals on the circle of one semitone, -50 up to 50 cents."""
    return np.asarray((cents + 50.0) % SEMITONE_CENTS - 50.0)


def _steadiness(cents: Floats, hold: NDArray[np.int_], hop_s: float, usual_per_s: float) -> Floats:
    """Return how still each frame is, 0 to 1: a half at ``usual_per_s``, 0 where a hold begins or ends."""
    slope = np.gradient(cents) / hop_s
    inside = np.ones(cents.size, dtype=bool)
    edges = np.flatnonzero(np.diff(hold)) + 1
    inside[[0, -1]] = False
    inside[edges] = inside[edges - 1] = False
    return np.asarray(inside / (1.0 + (slope / usual_per_s) ** 2))
