"""Every error of this room.

FingeringError (also a ValueError)   what was found, and how to mend it
├── TuningError                      a tuning, capo or fretboard nobody could play
├── PassageError                     notes that cannot be asked for
├── LimitError                       a part of the neck with nothing in it
└── LockError                        fixed strings, frets or fingers that contradict each other
"""


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
