"""How far a fingering agrees with others: the same string, hand position and finger, note by note."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fingering.passage import Placement
from fingering.solution import Fingering


@dataclass(frozen=True, slots=True)
class Agreement:
    """Counts of notes; a share is the count over its own total."""

    string: int
    string_of: int
    position: int  # hand position (fret - finger + 1) within one fret
    position_of: int
    finger: int  # of the fingers 1 to 4
    finger_of: int

    def __add__(self, other: Agreement) -> Agreement:
        """Return the counts of both together."""
        return Agreement(
            self.string + other.string,
            self.string_of + other.string_of,
            self.position + other.position,
            self.position_of + other.position_of,
            self.finger + other.finger,
            self.finger_of + other.finger_of,
        )

    @property
    def shares(self) -> tuple[float, float, float]:
        """The shares of strings, positions and fingers that agree, 0 to 1."""
        return (
            self.string / max(1, self.string_of),
            self.position / max(1, self.position_of),
            self.finger / max(1, self.finger_of),
        )


NOTHING = Agreement(0, 0, 0, 0, 0, 0)


def agreement(fingering: Fingering, *references: Mapping[str, Placement]) -> Agreement:
    """Return how far a fingering agrees with whichever reference it agrees with most (in strings).

    A reference maps ids of plucks to placements; its fingers may be None. Notes it lacks are not counted. Where the
    reference presses a fret and the fingering has an open string, position and finger count as missed.
    """
    found = [_one(fingering, reference) for reference in references]
    return max(found, key=lambda one: (one.shares, one.string), default=NOTHING)


def _one(fingering: Fingering, reference: Mapping[str, Placement]) -> Agreement:
    total = NOTHING
    for name, theirs in reference.items():
        ours = fingering.placement(name)
        same = ours is not None and ours.string == theirs.string
        position = finger = counted = 0
        if theirs.finger is not None and theirs.finger > 0:
            counted = 1
            if ours is not None and ours.finger is not None and ours.finger > 0:
                finger = int(ours.finger == theirs.finger)
                position = int(abs((ours.fret - ours.finger) - (theirs.fret - theirs.finger)) <= 1)
        total += Agreement(int(same), 1, position, counted, finger, counted)
    return total


def total_agreement(parts: Sequence[Agreement]) -> Agreement:
    """Return the counts of all parts together."""
    return sum(parts, NOTHING)
