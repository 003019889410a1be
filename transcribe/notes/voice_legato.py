"""From which voice a voice begun by the fretting hand goes on, and how: hammered, pulled off, or slid there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from transcribe.notes.moves import Line
from transcribe.notes.note import Attack
from transcribe.notes.voices import Voice

SLOWEST_S = 0.08  # a legato note begins this soon after the one it comes from ends
LEAST, WIDEST = 0.5, 7.5  # semitones between the two
SLIDE_FRAMES = 2  # so long a fret between the two is heard on the way
TAIL_FRAMES = 16


@dataclass(frozen=True, slots=True)
class Begun:
    """How a voice begins, and the number of the voice it comes from when a finger took it over."""

    attack: Attack
    source: int | None = None


def how_begun(voices: tuple[Voice, ...], lines: list[Line]) -> tuple[Begun, ...]:
    """Return how each voice begins; ``lines`` holds their pitches, one line a voice."""
    return tuple(_begun(k, voices, lines) for k in range(len(voices)))


def _begun(k: int, voices: tuple[Voice, ...], lines: list[Line]) -> Begun:
    voice = voices[k]
    if voice.begin != "legato":
        return Begun("picked" if voice.begin == "picked" else "unknown")
    start = float(lines[k].midi[0])
    near = []
    for j, other in enumerate(voices):
        apart_s = abs(lines[k].start_s - lines[j].end_s)
        away = start - float(lines[j].midi[-1])
        if j != k and other.first < voice.first and apart_s <= SLOWEST_S and LEAST < abs(away) <= WIDEST:
            near.append((apart_s, j))
    if not near:
        return Begun("picked")
    source = min(near)[1]
    home = float(np.median(lines[source].midi))
    if _passes_frets(lines[source], home, start):
        return Begun("slide", source)
    return Begun("hammer-on" if start > float(lines[source].midi[-1]) else "pull-off", source)


def _passes_frets(line: Line, home: float, goal: float) -> bool:
    """True when the line's last moments lie on frets between where it was and where it goes."""
    tail = line.midi[-TAIL_FRAMES:]
    low, high = min(home, goal) + 0.5, max(home, goal) - 0.5
    return int(((tail > low) & (tail < high)).sum()) >= SLIDE_FRAMES
