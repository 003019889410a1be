"""Where the string of a note stands while it is looked at: its pitch, and what a push does to its stretch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.string_stretch import StretchReading
from transcribe.notes.note import Note

AFTER_ATTACK_S = 0.05  # the pick's noise and the string's first sharp moment are over
STILL_S = 0.005  # a look that begins this near the end of a push has all of it behind
LEAST_CONTOUR = 4  # readings of the pitch inside a look, 40 ms at the usual hop


def says_its_string(note: Note) -> bool:
    """True for notes whose partials are those of a string left to itself: no dead notes, no harmonics."""
    return note.mute != "dead" and note.harmonic == "none"


def settled_for_bend(ways: Sequence[StretchReading], cents: float) -> tuple[StretchReading, ...]:
    """Return the readings of a string pushed up by ``cents`` as they are with the push let down.

    Pushing a string raises its tension, and B falls as tension grows: as the square of the pitch.
    """
    eased = 2 * np.log(2) * cents / 1200.0
    return tuple(replace(way, log_stretch=way.log_stretch + eased) for way in ways)


def cents_at(note: Note, times_s: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Return the note's own contour at each time, shape as ``times_s``; None where hardly any of it could be read.

    A note without a contour stands at its pitch, unless it is told to move.
    """
    if note.contour is None:
        if note.vibrato or note.slide:
            return None
        return _bent(note, times_s)
    cents = np.array([np.nan if value is None else value for value in note.contour.cents], dtype=np.float64)
    known = np.flatnonzero(np.isfinite(cents))
    clock = note.contour.start_s + note.contour.hop_s * known
    inside = (clock >= times_s[0] - 0.02) & (clock <= times_s[-1] + 0.02)
    if np.count_nonzero(inside) < LEAST_CONTOUR:
        return None
    return np.interp(times_s, clock, cents[known])


def _bent(note: Note, times_s: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """The pitch of a note nobody followed at each time, by its bends; None while one is on its way."""
    stands = note.cents or 0.0
    for bend in sorted(note.bends, key=lambda each: each.start_s):
        pushed_first = bend.kind == "pre-bend"
        if not pushed_first and bend.start_s < times_s[-1] and bend.reach_s > times_s[0] + STILL_S:
            return None
        if pushed_first or bend.reach_s <= times_s[0] + STILL_S:
            stands = bend.reached_cents
    return np.full(times_s.shape, stands)
