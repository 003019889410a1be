"""How far one note's overtones are stretched, read through a distorting amplifier.

Distortion makes sums and differences of a string's partials. All that lie near the whole multiple k of the pitch are
stretched by amounts of their own, the string's partial k among the most, so that where a clean string has one line
there is a cluster of them, which grows wider with B. How it does depends on pick, pickup and amplifier; a small network
that ``training/learn_driven_stretch.py`` teaches reads B off the clusters of one note.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.string_stretch import (
    LEAST_LOG,
    LEAST_PARTIALS,
    MOST_LOG,
    PROMINENCE,
    StretchReading,
    hold_still,
    still_power,
)

Singles = NDArray[np.float32]

WEIGHTS = "driven-stretch.npz"
PARTIALS = 24
CENTS = np.arange(-15.0, 61.0)  # from each whole multiple of the pitch, where its cluster is looked at
LOGS = LEAST_LOG + (np.arange(64) + 0.5) * (MOST_LOG - LEAST_LOG) / 64  # of B: what is answered
QUIETEST_DB, LOUDEST_DB = -30.0, 50.0  # against the median around a partial
LEAST_PERIODS = 20.0  # fewer show no cluster
A_WAY = 0.3  # a stretch this much less likely than the likeliest is not told as another way
PERIODS_SCALE = 4.0
BESIDES = 0.25  # of log B: recorded strings lie off what is told by about this much more than the curve is wide


def cluster_rows(sound: Singles, rate_hz: int, pitch_hz: NDArray[np.float64]) -> tuple[Singles, float] | None:
    """Return the level around each multiple of the pitch, (PARTIALS, cents), 1 for 20 dB, and the periods looked at.

    ``pitch_hz`` is the note's pitch at each sample, right to a few cents. None where too few periods sound, or too few
    multiples stand out of what lies between them.
    """
    still, samples_a_period, middle_hz = hold_still(sound, rate_hz, pitch_hz)
    periods = still.size / samples_a_period
    highest = min(PARTIALS, int(0.42 * rate_hz / middle_hz))
    if periods < LEAST_PERIODS or highest < LEAST_PARTIALS:
        return None
    power, bin_width = still_power(still, samples_a_period, highest)
    rows = np.full((PARTIALS, CENTS.size), QUIETEST_DB / 20, dtype=np.float32)
    for k in range(1, highest + 1):
        around = power[int((k - 0.45) / bin_width) : int((k + 0.55) / bin_width) + 1]
        at = k * 2 ** (CENTS / 1200) / bin_width
        left = np.minimum(at.astype(np.intp), power.size - 2)
        level = power[left] + (at - left).astype(np.float32) * (power[left + 1] - power[left])
        rows[k - 1] = np.log10(np.maximum(level, 1e-20) / max(float(np.median(around)), 1e-20)) / 2
    if np.count_nonzero(rows.max(axis=1) >= np.log10(PROMINENCE)) < LEAST_PARTIALS:
        return None
    return np.clip(rows, QUIETEST_DB / 20, LOUDEST_DB / 20), periods


def read_driven_stretch(
    rows: Singles, periods: float, *, weights: Mapping[str, NDArray[np.floating]] | None = None
) -> tuple[float, tuple[StretchReading, ...]]:
    """Return how likely a note is distorted, 0 to 1, and the ways to read its stretch, the likeliest first.

    ``rows`` (PARTIALS, cents) and ``periods`` come from ``cluster_rows``; ``weights`` are the shipped ones when left
    out.
    """
    weights = _shipped() if weights is None else weights
    x = np.maximum(rows.T @ weights["lift"] + weights["lift_bias"], 0.0)
    x = _halved(_beside(x, weights["first"], weights["first_bias"]))
    x = _halved(_beside(x, weights["second"], weights["second_bias"]))
    told = np.append(x, np.log(periods) / PERIODS_SCALE)
    told = np.maximum(told @ weights["dense"] + weights["dense_bias"], 0.0)
    logits = (told @ weights["stretch"] + weights["stretch_bias"] - weights["log_usual"]).astype(np.float64)
    shares = np.exp(logits - logits.max())
    driven = 1.0 / (1.0 + np.exp(-float((told @ weights["driven"] + weights["driven_bias"])[0])))
    return driven, ways_of(shares / shares.sum())


def ways_of(shares: NDArray[np.float64]) -> tuple[StretchReading, ...]:
    """Return each hill of a curve over LOGS as a way to read a stretch, the likeliest first."""
    lower = np.flatnonzero((shares[1:-1] < shares[:-2]) & (shares[1:-1] <= shares[2:])) + 1
    found = []
    for part in np.split(np.arange(shares.size), lower):
        here = shares[part] / max(float(shares[part].sum()), 1e-12)
        middle = float(here @ LOGS[part])
        # within a bin nothing is known: the last term is the variance of an even spread over it
        spread = np.sqrt(here @ (LOGS[part] - middle) ** 2 + (LOGS[1] - LOGS[0]) ** 2 / 12)
        error = float(np.hypot(spread, BESIDES))
        found.append((float(shares[part].sum()), middle, error))
    likeliest = max(share for share, _, _ in found)
    kept = [way for way in found if way[0] >= A_WAY * likeliest]
    total = sum(share for share, _, _ in kept)
    ways = [StretchReading(middle, error, 0, share / total) for share, middle, error in kept]
    return tuple(sorted(ways, key=lambda way: -way.share))


def _beside(x: Singles, kernel: NDArray[np.floating], bias: NDArray[np.floating]) -> Singles:
    """A convolution over the cents, (cents, channels), the ends padded with zeros, and what is above 0 of it."""
    reach = len(kernel) // 2
    padded = np.pad(x, [(reach, reach), (0, 0)])
    total = sum(padded[k : k + len(x)] @ kernel[k] for k in range(len(kernel)))
    return np.asarray(np.maximum(total + bias, 0.0), dtype=np.float32)


def _halved(x: Singles) -> Singles:
    """The larger of each two neighbours along the cents; an odd one at the end is left out."""
    return np.maximum(x[0 : len(x) - 1 : 2], x[1::2])


@cache
def _shipped() -> dict[str, Singles]:
    with files("transcribe.evidence.weights").joinpath(WEIGHTS).open("rb") as stream, np.load(stream) as file:
        return {name: file[name].astype(np.float32) for name in file.files}
