"""Where a string stops, and what is still heard of it afterwards."""

from __future__ import annotations

import numpy as np

from transcribe.notes.attack import Envelope
from transcribe.notes.lines import Stretch
from transcribe.settings import NoteSettings


def without_leftovers(
    stretches: tuple[Stretch, ...], loudness: Envelope, settings: NoteSettings
) -> tuple[Stretch, ...]:
    """Return the stretches without those that nobody struck and that are only what an earlier note left behind.

    When a string is stopped, the room, an echo or another string is heard: softer than the note was, and soon after.
    """
    kept: list[Stretch] = []
    for stretch in stretches:
        soft = stretch.strike is None or stretch.strike.pick_likelihood < settings.pick_sure
        if soft and any(_left_behind(stretch, earlier, loudness, settings) for earlier in kept[-3:]):
            continue
        kept.append(stretch)
    return tuple(kept)


def _left_behind(stretch: Stretch, earlier: Stretch, loudness: Envelope, settings: NoteSettings) -> bool:
    if stretch.onset_s < earlier.onset_s or stretch.onset_s - earlier.end_s > settings.leftover_after_s:
        return False
    here = loudness.span(loudness.all_db, stretch.onset_s + 0.02, min(stretch.end_s, stretch.onset_s + 0.15)).max()
    there = np.median(loudness.span(loudness.all_db, earlier.end_s - 0.2, earlier.end_s - 0.03))
    return bool(here < there - settings.leftover_db)
