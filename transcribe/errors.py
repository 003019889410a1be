"""Every error a caller can meet.

TakesheetError                  what was found, and how to mend it
├── SettingsError               a setting nobody could use: tuning, capo, tempo, meter, key
├── ReadError                   a file that cannot be read: missing, no audio track, damaged
│   └── DocumentError           a take document that breaks the format, or of a version we do not know
├── WriteError                  a folder or file that cannot be written
├── TakeError                   sound we can do nothing with: silence, too short, too long, clipped
├── MissingExtraError           an optional part that is not installed, or a device that is not there
└── ValueRuleError              a frozen value that would break its own rule (also a ValueError)
    ├── PitchError              pitches, frequencies and intervals
    ├── EvidenceError           frame-by-frame maps
    ├── NoteError               notes and their gestures
    ├── RhythmError             beats, bars and written values
    ├── HarmonyError            chords
    └── ScoreError              notation
"""


class TakesheetError(Exception):
    """What went wrong in one line (``found``) and how to mend it in another (``mend``)."""

    def __init__(self, found: str, mend: str = "") -> None:
        super().__init__(found if not mend else f"{found}\n{mend}")
        self.found = found
        self.mend = mend


class SettingsError(TakesheetError):
    """A setting nobody could use."""


class ReadError(TakesheetError):
    """A file that cannot be read."""


class DocumentError(ReadError):
    """A take document that breaks the format, or of a version we do not know."""


class WriteError(TakesheetError):
    """A folder or file that cannot be written."""


class TakeError(TakesheetError):
    """Sound we can do nothing with."""


class MissingExtraError(TakesheetError):
    """An optional part that is not installed, or a device that is not there."""


class ValueRuleError(TakesheetError, ValueError):
    """A frozen value that would break its own rule."""


class PitchError(ValueRuleError):
    """A pitch, frequency or interval out of range."""


class EvidenceError(ValueRuleError):
    """A frame-by-frame map with the wrong shape or values."""


class NoteError(ValueRuleError):
    """A note or gesture that cannot exist."""


class RhythmError(ValueRuleError):
    """A beat, bar or written value that cannot exist."""


class HarmonyError(ValueRuleError):
    """A chord that cannot exist."""


class ScoreError(ValueRuleError):
    """Notation that cannot be written."""
