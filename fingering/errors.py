"""Every error of this room.

FingeringError (also a ValueError)   what was found, and how to mend it
├── TuningError                      a tuning, capo or fretboard nobody could play
├── PassageError                     notes that cannot be asked for
├── LimitError                       a part of the neck with nothing in it
└── LockError                        fixed strings, frets or fingers that contradict each other
    └── ClashError                   those of notes that start together
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence


class FingeringError(ValueError):
    """What went wrong in one line (``found``) and how to mend it in another (``mend``)."""

    def __init__(self, found: str, mend: str = "") -> None:
        super().__init__(found if not mend else f"{found}\n{mend}")
        self.found = found
        self.mend = mend


class TuningError(FingeringError):
    """A tuning, capo or fretboard nobody could play."""


class PassageError(FingeringError):
    """Notes that cannot be asked for."""


class LimitError(FingeringError):
    """A part of the neck with nothing in it."""


class LockError(FingeringError):
    """Fixed strings, frets or fingers that contradict each other."""


class ClashError(LockError):
    """Locks of notes that start together and that no hand can honour at once.

    ``locks`` maps the place of a note in its moment to the words of its lock; ``named`` tells the notes by their ids.
    """

    def __init__(self, locks: Mapping[int, str], mend: str, ids: Sequence[str] = ()) -> None:
        self.locks = dict(locks)
        told = [f"{ids[at] if ids else f'number {at + 1}'} ({words})" for at, words in self.locks.items()]
        super().__init__(f"notes that start together have locks that contradict: {' and '.join(told)}", mend)

    def named(self, ids: Sequence[str]) -> ClashError:
        """Return the same error with the id of each note of the moment."""
        return ClashError(self.locks, self.mend, ids)
