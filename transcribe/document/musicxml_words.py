"""Palm mutes and let ring told in words and dashes, as files of other programs tell them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from transcribe.document.musicxml_notes import Sounding
from transcribe.document.musicxml_part import PartMusic

PALM_MUTE = re.compile(r"\s*(P\.?\s?M\.?|palm mut\w*)\s*", re.IGNORECASE)
LET_RING = re.compile(r"\s*let ring\.?\s*", re.IGNORECASE)
MARKS: tuple[tuple[re.Pattern[str], dict[str, Any], str], ...] = (
    (PALM_MUTE, {"mute": "palm"}, "play/mute"),
    (LET_RING, {"let_ring": True}, "notations/tied[@type='let-ring']"),
)


def marked_by_words(music: PartMusic, notes: Sequence[Sounding]) -> list[dict[str, Any]]:
    """Return for each note what a span over it says. Where notes are marked themselves, words are not read."""
    marked: list[dict[str, Any]] = [{} for _ in notes]
    for pattern, told, sign in MARKS:
        if any(element.find(sign) is not None for note in notes for element in note.elements):
            continue
        for start, end in _stretches(music, pattern):
            for index, note in enumerate(notes):
                if start <= note.start < end or note.start == start:
                    marked[index] |= told
    return marked


def _stretches(music: PartMusic, pattern: re.Pattern[str]) -> list[tuple[Fraction, Fraction]]:
    """Where words of a kind hold: to the end of the dashes or bracket that begins with them, else one moment."""
    found: list[tuple[Fraction, Fraction]] = []
    waiting: dict[tuple[str, str, str], Fraction] = {}
    for at, direction in music.directions:
        says = any(pattern.fullmatch(words.text or "") for words in direction.iterfind("direction-type/words"))
        opened = False
        for line in (*direction.iterfind("direction-type/dashes"), *direction.iterfind("direction-type/bracket")):
            key = (str(line.tag), line.get("number", "1"), direction.findtext("staff") or "1")
            if line.get("type") == "start" and says:
                waiting[key] = at
                opened = True
            elif line.get("type") == "stop" and key in waiting:
                found.append((waiting.pop(key), at))
        if says and not opened:
            found.append((at, at))
    return [*found, *((at, music.end) for at in waiting.values())]
