"""What else sounds while a voice does, for all voices in one pass along the take."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.voices import Voice

Floats = NDArray[np.float64]

NEAR_FRAMES = 4  # another voice is in the way so long before its first frame and after its last: half a window


def beside_each(voices: Sequence[Voice]) -> tuple[Floats, ...]:
    """Return the pitches that sound beside each voice, shape (n_frames, n_at_once), NaN where nothing does.

    A column holds one voice after another where they leave room: there are as many as sound at once, not as many as
    there are others. First and last pitch of each reach half a window farther.
    """
    near: list[list[Voice]] = [[] for _ in voices]
    sounding: list[int] = []
    for k in sorted(range(len(voices)), key=lambda k: voices[k].first):
        sounding = [j for j in sounding if voices[j].last + NEAR_FRAMES >= voices[k].first]
        for j in sounding:
            near[j].append(voices[k])
            near[k].append(voices[j])
        sounding.append(k)
    return tuple(_pitches(voice, others) for voice, others in zip(voices, near, strict=True))


def _pitches(voice: Voice, others: Sequence[Voice]) -> Floats:
    """The pitches of ``others``, each near in time and in the order they begin, along one voice."""
    columns: list[Floats] = []
    free: list[int] = []  # first frame of each column that nothing fills
    for other in others:
        begin = max(0, other.first - NEAR_FRAMES - voice.first)
        end = min(voice.midi.size, other.last + NEAR_FRAMES + 1 - voice.first)
        at = next((n for n, from_frame in enumerate(free) if from_frame <= begin), len(columns))
        if at == len(columns):
            columns.append(np.full(voice.midi.size, np.nan))
            free.append(0)
        own = np.arange(begin, end) + voice.first - other.first
        columns[at][begin:end] = other.midi[np.clip(own, 0, other.midi.size - 1)]
        free[at] = end
    return np.stack(columns, axis=1) if columns else np.full((voice.midi.size, 0), np.nan)
