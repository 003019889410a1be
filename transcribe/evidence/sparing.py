"""A map that changes slowly, asked for no more often than it changes: every fourth frame first, then between them.

Where two frames are alike, the one between them is their mean; only where they differ is it asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

Frames = NDArray[np.intp]

FIRST_STEP = 4  # frames, a power of two: at 10 ms a frame and 64 ms of sound in each, one still shares half of the next
ALIKE = 0.2  # no bin of two frames farther apart; tests/transcribe/evidence/test_crepe.py holds what that may cost


def fill_sparingly(
    ask: Callable[[Frames], None],
    rows: NDArray[np.float32],
    wanted: NDArray[np.bool_],
    restless: NDArray[np.bool_] | None = None,
) -> Iterator[int]:
    """Fill the ``wanted`` rows of ``rows``, shape (n_frames, n_bins): by ``ask``, or from rows on either side.

    ``ask`` fills the rows of the frames it is given, rising. No mean is taken across a frame marked ``restless``.
    Yields now and then how many rows were settled without asking: those not wanted first, then those drawn through.
    """
    count = wanted.size
    yield count - int(wanted.sum())
    unrest = np.concatenate(([0], np.cumsum(np.zeros(count, dtype=bool) if restless is None else restless)))
    grid = np.arange(0, count, FIRST_STEP)
    ask(grid[wanted[grid]])
    step = FIRST_STEP
    while step > 1:
        half = step // 2
        middle = np.arange(half, count, step)
        middle = middle[wanted[middle]]
        before, after = middle - half, np.minimum(middle + half, count - 1)
        alike = wanted[before] & wanted[after] & (after > middle) & (unrest[after + 1] == unrest[before + 1])
        sure = np.flatnonzero(alike)
        alike[sure] = np.abs(rows[before[sure]] - rows[after[sure]]).max(axis=1) < ALIKE
        rows[middle[alike]] = 0.5 * (rows[before[alike]] + rows[after[alike]])
        yield int(alike.sum())
        ask(middle[~alike])
        step = half
