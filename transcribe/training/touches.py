"""Touch and Passage: what both hands do to six strings in a few seconds of made-up playing, before it is sound."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from transcribe.errors import NoteError

Attack = Literal["picked", "hammered", "slid"]  # hammered: hammer-on or pull-off
Mute = Literal["none", "palm", "dead"]

STANDARD_OPEN = (64, 59, 55, 50, 45, 40)  # strings 1 to 6
HIGHEST_FRET = 22
SHORTEST_S = 0.045  # of a touch; sixteenths at 300 bpm
PICK_RESTS_S = 0.012  # on a string before it lets go, at most


@dataclass(frozen=True, slots=True)
class Touch:
    """One thing done to one string: a pick, a hammered or lifted finger, a slide's arrival, or a stray contact."""

    string: int  # 0 is string 1
    fret: int
    at_s: float
    until_s: float  # damped, or taken over by the next touch on its string
    attack: Attack = "picked"
    level_db: float = 0.0
    pushes: tuple[tuple[float, float, float], ...] = ()  # (when, over how long, to how many semitones above the fret)
    wave: tuple[float, float, float] | None = None  # (rate in Hz, extent in semitones, when it begins)
    glide_s: float = 0.0  # of a slide: the hand travels this long before it arrives, where the pick may strike again
    fall: tuple[int, float] | None = None  # (frets down, over how long) a hand slides away with at the end
    mute: Mute = "none"
    harmonic: int = 0  # the partial left sounding by a touching finger; 0 is none
    damping_s: float = 0.06  # time to fall 60 dB after it is stopped
    is_note: bool = True  # a reader would write it

    def __post_init__(self) -> None:
        if not 0 <= self.string < 6 or not 0 <= self.fret <= 24 or self.until_s <= self.at_s:
            raise NoteError(f"a touch lies on a string and fret and ends after it starts; got {self}")
        if self.fall is not None and not (0 < self.fall[0] < self.fret and self.fall[1] > 0):
            raise NoteError(f"a hand slides away down the neck, over some time; got {self}")


@dataclass(frozen=True, slots=True)
class Passage:
    """Touches in time order on a tuned guitar; on each string they do not overlap."""

    open_midi: tuple[float, ...]  # of strings 1 to 6, with the guitar's own tuning error
    touches: tuple[Touch, ...]
    length_s: float


def tuned(rng: np.random.Generator) -> tuple[float, ...]:
    """Return open strings: mostly standard, sometimes the low string or all of them let down, never quite in tune."""
    opened = np.array(STANDARD_OPEN, dtype=float)
    lowered = rng.random()
    if lowered < 0.1:
        opened[5] -= 2
    elif lowered < 0.25:
        opened -= rng.choice([1, 1, 2])
    whole = rng.normal(0, 0.08) if rng.random() < 0.7 else rng.uniform(-0.4, 0.4)
    return tuple(opened + whole + rng.normal(0, 0.025, 6))


def without_overlaps(touches: list[Touch], rng: np.random.Generator, length_s: float) -> tuple[Touch, ...]:
    """Return the touches with each string's kept apart, as one string can only do one thing at a time.

    A string that is picked again is stopped a moment before: by the pick (a few milliseconds) or by a finger. A finger
    that stops a string sometimes sets it going softly once more; those stray contacts are no notes.
    """
    kept: list[Touch] = []
    gap_s = float(rng.choice([0.004, 0.01, 0.03, 0.06]))
    stray = float(rng.choice([0.0, 0.05, 0.25]))
    for string in range(6):
        mine = sorted((t for t in touches if t.string == string and t.at_s < length_s - 0.02), key=lambda t: t.at_s)
        spaced = [t for k, t in enumerate(mine) if k == 0 or t.at_s - mine[k - 1].at_s >= SHORTEST_S]
        for k, touch in enumerate(spaced):
            after = spaced[k + 1] if k + 1 < len(spaced) else None
            if after is not None:
                fall = None
                if after.attack != "picked":
                    until_s = after.at_s
                elif after.glide_s > 0:  # it sounds on the way to where it is picked again
                    until_s = after.at_s - float(rng.uniform(0.0, PICK_RESTS_S))
                else:
                    rest_s = min(gap_s * float(rng.uniform(0.3, 1.7)), 0.4 * (after.at_s - touch.at_s))
                    until_s, fall = min(touch.until_s, after.at_s - rest_s), touch.fall
                touch = replace(touch, until_s=max(until_s, touch.at_s + 0.02), fall=fall)
            kept.append(_fitting(touch))
            if after is not None and after.attack == "picked" and after.glide_s == 0 and rng.random() < stray:
                contact = _stray_contact(touch, after, rng)
                if contact:
                    kept[-1] = _fitting(replace(touch, until_s=min(touch.until_s, contact[0].at_s)))
                kept += contact
    return tuple(sorted(kept, key=lambda t: t.at_s))


def _fitting(touch: Touch) -> Touch:
    """Leave out pushes that begin after the touch has ended, and a fall that would be most of it."""
    fall = None if touch.fall is None or touch.until_s - touch.at_s < 2 * touch.fall[1] else touch.fall
    return replace(touch, pushes=tuple(push for push in touch.pushes if push[0] < touch.until_s - 0.02), fall=fall)


def _stray_contact(touch: Touch, after: Touch, rng: np.random.Generator) -> list[Touch]:
    """A finger or the pick coming to rest on a ringing string 25 to 130 ms before the next pick."""
    at_s = after.at_s - float(rng.uniform(0.025, 0.13))
    if at_s < touch.at_s + 0.09:
        return []
    ends_s = min(at_s + float(rng.uniform(0.012, 0.06)), after.at_s - 0.008)
    if ends_s <= at_s + 0.006:
        return []
    return [
        Touch(
            touch.string,
            touch.fret if rng.random() < 0.7 else 0,
            at_s,
            ends_s,
            level_db=touch.level_db - float(rng.uniform(12, 26)),
            mute="palm" if rng.random() < 0.5 else "none",
            damping_s=0.04,
            is_note=False,
        )
    ]
