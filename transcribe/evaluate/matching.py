"""Which note of a draft is which note of the reference: most pairs, each note used once.

The conventions are those of mir_eval's transcription module (C. Raffel et al., "mir_eval: a transparent
implementation of common MIR metrics", ISMIR 2014), which follow the MIREX note tracking task: a window is closed,
and distances are rounded to four decimals first.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.note import Note

ONSET_WINDOW_S = 0.05
PITCH_WINDOW_CENTS = 50.0
OFFSET_RATIO = 0.2  # of the reference note's length
OFFSET_WINDOW_S = 0.05  # never tighter than this
DECIMALS = 4

Pairs = list[tuple[int, int]]


def match_notes(reference: Sequence[Note], heard: Sequence[Note], *, ends: bool = False) -> Pairs:
    """Return (reference index, heard index) of the most notes that can be paired, in reference order.

    A pair starts within 50 ms and has the same fretted semitone; with ``ends`` it also stops within 20 % of the
    reference note's length, or 50 ms if that is more.

    >>> match_notes([Note("a", 1.0, 1.5, 64)], [Note("b", 1.04, 1.3, 64)])
    [(0, 0)]
    """
    if not reference or not heard:
        return []
    spans, others = _times(reference), _times(heard)
    near = _near(spans[:, 0], others[:, 0], ONSET_WINDOW_S)
    wanted, found = near.T
    cents = 100.0 * np.abs(_pitches(reference)[wanted] - _pitches(heard)[found])
    same = np.round(cents, DECIMALS) <= PITCH_WINDOW_CENTS
    if ends:
        windows = np.maximum(OFFSET_RATIO * (spans[:, 1] - spans[:, 0]), OFFSET_WINDOW_S)
        same &= _within(spans[wanted, 1] - others[found, 1], windows[wanted])
    return most_pairs(near[same])


def match_onsets(reference_s: Sequence[float], heard_s: Sequence[float], window_s: float = ONSET_WINDOW_S) -> Pairs:
    """Return (reference index, heard index) of the most times that can be paired within a window, in seconds."""
    if not reference_s or not heard_s:
        return []
    return most_pairs(_near(np.array(reference_s, float), np.array(heard_s, float), window_s))


def most_pairs(allowed: NDArray[np.intp]) -> Pairs:
    """Return the most (row, column) with no row or column twice out of those ``allowed``, shape (n, 2), in their order.

    J. Hopcroft and R. Karp, "An n^5/2 algorithm for maximum matchings in bipartite graphs", SIAM J. Computing 2, 1973.
    """
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_bipartite_matching

    if not allowed.size:
        return []
    graph = csr_array((np.ones(len(allowed), dtype=np.int8), (allowed[:, 0], allowed[:, 1])))
    columns = maximum_bipartite_matching(graph, perm_type="column")
    return [(row, int(column)) for row, column in enumerate(columns) if column >= 0]


def _near(reference_s: NDArray[np.float64], heard_s: NDArray[np.float64], window_s: float) -> NDArray[np.intp]:
    """Every (reference index, heard index) within the window, in order, shape (n, 2)."""
    order = np.argsort(heard_s, kind="stable")
    reach = window_s + 10.0**-DECIMALS
    first = np.searchsorted(heard_s[order], reference_s - reach)
    count = np.searchsorted(heard_s[order], reference_s + reach, side="right") - first
    wanted = np.repeat(np.arange(reference_s.size), count)
    found = order[np.arange(wanted.size) - np.repeat(np.cumsum(count) - count - first, count)]
    pairs = np.stack((wanted, found), axis=1)[_within(reference_s[wanted] - heard_s[found], window_s)]
    return np.asarray(pairs[np.lexsort(pairs.T[::-1])])


def _within(apart: NDArray[np.float64], window: float | NDArray[np.float64]) -> NDArray[np.bool_]:
    return np.asarray(np.round(np.abs(apart), DECIMALS) <= np.round(window, DECIMALS))


def _times(notes: Sequence[Note]) -> NDArray[np.float64]:
    return np.array([(note.onset_s, note.offset_s) for note in notes], dtype=np.float64)


def _pitches(notes: Sequence[Note]) -> NDArray[np.float64]:
    return np.array([note.midi for note in notes], dtype=np.float64)
