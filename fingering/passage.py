"""Passage and Pluck: what must be played, what rings on, and which plucks share a string."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from fingering.errors import PassageError

Join = Literal["none", "hammer-on", "pull-off", "slide"]


@dataclass(frozen=True, slots=True)
class Pluck:
    """One note to be placed. Times only order and overlap the notes: seconds, or quarters from a score."""

    id: str
    onset_s: float
    end_s: float  # the string is free again from here
    midi: int  # fretted pitch (a harmonic: the pitch that sounds)
    bend_semitones: float = 0.0  # the farthest the string is pushed above ``midi``
    join: Join = "none"  # how it follows the pluck named in ``joined_to``: on the same string
    joined_to: str | None = None  # id of an earlier pluck
    slid_in: bool = False  # from or to no clear fret: cannot be an open string
    vibrato: bool = False
    let_ring: bool = False
    dead: bool = False
    harmonic: bool = False  # natural: an open string touched over a node
    artificial: bool = False  # fretted an octave below ``midi`` and touched twelve frets higher
    string_weights: tuple[float, ...] | None = None  # string 1 first, summing to 1: what the sound suggests
    locked_string: int | None = None  # fixed by the person
    locked_fret: int | None = None
    locked_finger: int | None = None
    beats: Fraction | None = None  # where it is written: beats from a bar line, whole on a beat; None: not known

    def __post_init__(self) -> None:
        if not self.onset_s < self.end_s:
            raise PassageError(f"note {self.id} must end after it starts; got {self.onset_s} to {self.end_s}")
        if self.harmonic and self.artificial:
            raise PassageError(
                f"note {self.id} is both a natural and an artificial harmonic", "Mark it as one of the two."
            )
        weights = self.string_weights
        if weights is not None and (not weights or min(weights) < 0 or not max(weights) > 0):
            raise PassageError(
                f"note {self.id}: its string weights must be 0 or more, and not all 0; got {weights}",
                "Give one weight a string, string 1 first, or none at all.",
            )
        if (self.join != "none") != (self.joined_to is not None):
            raise PassageError(f"note {self.id}: a join names the note it follows, and only a join does")


@dataclass(frozen=True, slots=True)
class Passage:
    """Plucks in order of onset, highest pitch first among those that start together."""

    plucks: tuple[Pluck, ...]

    def __post_init__(self) -> None:
        seen: set[str] = set()
        last_s = float("-inf")
        for pluck in self.plucks:
            if pluck.id in seen:
                raise PassageError(f"two notes share the id {pluck.id}")
            if pluck.joined_to is not None and pluck.joined_to not in seen:
                raise PassageError(f"note {pluck.id} follows {pluck.joined_to}, which does not come before it")
            if pluck.onset_s < last_s:
                raise PassageError(f"note {pluck.id} starts before the note listed ahead of it")
            seen.add(pluck.id)
            last_s = pluck.onset_s


@dataclass(frozen=True, slots=True)
class Placement:
    """Where and with which finger one pluck is played."""

    id: str  # of the pluck
    string: int
    fret: int  # from the nut or capo
    finger: int | None  # 1 index to 4 little finger, 0 open string; None when nobody decided
    stroke: str | None = None  # picking hand: "down", "up", or p, i, m, a
    touch_fret: int | None = None  # where the picking hand touches an artificial harmonic; past the last fret too
