"""How notes come and stay: a plucked string is loudest at once and fades; a bowed or blown one swells and is held."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.attack import ENVELOPE_HOP_S, Envelope
from transcribe.notes.note import Note

FEWEST = 3  # notes that tell
QUIET_DB = 25.0  # below the loudest of a take, where a note tells nothing
OUT_OF_REST_DB = 6.0  # a note that rises less begins in the sound of another
AT_REST, AT_TOP_DB = 0.2, 2.0  # share of a rise that is still rest, and how far below its top a note has come
RISE_S, BEFORE_S = 0.25, 0.05  # looked at around an onset
HELD_S = 0.25  # a shorter note does not tell whether it fades
NEAR_S, FAR_S = 0.03, 0.08  # from a beginning or an end, between which a level is read
TOGETHER_S = 0.05  # notes of one stroke


def rise_s(loudness: Envelope, notes: Sequence[Note]) -> float:
    """Return the middle time that picked notes take from rest to their top, in seconds; 0 where too few tell."""
    loudest = float(np.percentile(loudness.all_db, 95))
    told = [
        rise
        for note, end_s in _until_the_next(notes)
        if note.attack == "picked" and (rise := _rise_s(loudness, note.onset_s, end_s, loudest)) is not None
    ]
    return float(np.median(told)) if len(told) >= FEWEST else 0.0


def growth_db_per_s(loudness: Envelope, notes: Sequence[Note]) -> float:
    """Return the middle change of level of notes that are held, in dB a second; 0 where too few tell."""
    told = [
        _growth_db_per_s(loudness, note.onset_s, end_s)
        for note, end_s in _until_the_next(notes)
        if note.attack == "picked" and not note.bends and end_s - note.onset_s >= HELD_S
    ]
    return float(np.median(told)) if len(told) >= FEWEST else 0.0


def _until_the_next(notes: Sequence[Note]) -> list[tuple[Note, float]]:
    """Each note and the time until which it sounds without another that begins."""
    onset_s = np.sort([note.onset_s for note in notes])
    found = []
    for note in notes:
        later = int(np.searchsorted(onset_s, note.onset_s + TOGETHER_S, side="right"))
        found.append((note, min(note.offset_s, float(onset_s[later])) if later < onset_s.size else note.offset_s))
    return found


def _rise_s(loudness: Envelope, onset_s: float, end_s: float, loudest_db: float) -> float | None:
    before = float(_level(loudness, onset_s - FAR_S, onset_s - NEAR_S).min())
    level = _level(loudness, onset_s - BEFORE_S, min(onset_s + RISE_S, end_s))
    top = int(level.argmax())
    height = float(level[top]) - before
    if level[top] < loudest_db - QUIET_DB or height < OUT_OF_REST_DB:
        return None
    low = np.flatnonzero(level[: top + 1] <= max(before + AT_REST * height, float(level[top]) - 20.0))
    high = int(np.argmax(level[: top + 1] >= level[top] - AT_TOP_DB))
    return ENVELOPE_HOP_S * (high - (int(low[-1]) if low.size else 0))


def _growth_db_per_s(loudness: Envelope, onset_s: float, end_s: float) -> float:
    """Change of level from just after the attack until just before the end."""
    early = float(_level(loudness, onset_s + NEAR_S, onset_s + FAR_S).mean())
    late = float(_level(loudness, end_s - FAR_S, end_s - NEAR_S).mean())
    return (late - early) / (end_s - onset_s - NEAR_S - FAR_S)


def _level(loudness: Envelope, from_s: float, to_s: float) -> NDArray[np.float64]:
    return loudness.span(loudness.all_db, from_s, to_s)
