"""Words typed about the neck to values: strings, frets, bars, and notes that are fixed."""

from __future__ import annotations

import re

from fingering.cost import PROFILES
from fingering.plucking import PICKING
from transcribe.errors import SettingsError
from transcribe.positions import Lock

LOCK_MEND = "Write the note, then string:fret or string:fret:finger, for example --lock n3=2:10 or --lock n3=2:10:4."


def strings_from_text(text: str) -> frozenset[int]:
    """Return the strings of ``4-6`` or ``1,2,4``; raises SettingsError.

    >>> sorted(strings_from_text("1,4-6"))
    [1, 4, 5, 6]
    """
    found: set[int] = set()
    for part in text.replace(" ", "").split(","):
        low, high = _range(part, text, "strings", "Write them as 4-6 or 1,2,3; string 1 is the highest.")
        found.update(range(low, high + 1))
    return frozenset(found)


def frets_from_text(text: str) -> tuple[int, int]:
    """Return the lowest and highest fret of ``5-9`` or ``5``; raises SettingsError.

    >>> frets_from_text("5-9")
    (5, 9)
    """
    return _range(text.replace(" ", ""), text, "frets", "Write the lowest and the highest, such as --frets 5-9.")


def bars_from_text(text: str) -> tuple[int, int]:
    """Return the first and last bar of ``3-4`` or ``3``; bar 0 is the pickup; raises SettingsError."""
    return _range(text.replace(" ", ""), text, "bars", "Write the first and the last, such as --bars 3-4.")


def _range(part: str, text: str, what: str, mend: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,3})(?:[-–](\d{1,3}))?", part)
    if not match:
        raise SettingsError(f"no such {what}: {text!r}", mend)
    low, high = int(match.group(1)), int(match.group(2) or match.group(1))
    if low > high:
        raise SettingsError(f"no such {what}: {text!r} runs backwards", mend)
    return low, high


def lock_from_text(text: str) -> Lock:
    """Return the lock of ``n3=2:10`` (string 2, fret 10) or ``n3=2:10:4`` (and finger 4); raises SettingsError.

    A part left empty or written ``-`` stays free: ``n3=2:`` fixes the string alone, ``n3=::4`` the finger alone.

    >>> lock_from_text("n3=2:10:4")
    Lock(note='n3', string=2, fret=10, finger=4)
    """
    note, equals, told = (part.strip() for part in text.rpartition("="))
    parts = [part.strip() for part in told.split(":")]
    right = all(re.fullmatch(r"\d{1,2}|-|", part) for part in parts)
    if not (note and equals and right and len(parts) <= 3 and any(part.isdigit() for part in parts)):
        raise SettingsError(f"no such lock: {text!r}", LOCK_MEND)
    string, fret, finger = (int(part) if part.isdigit() else None for part in (*parts, "", "")[:3])
    return Lock(note, string, fret, finger)


def profile_from_text(text: str) -> str:
    """Return the name of a cost profile; its first word is enough, and hyphens are blanks; raises SettingsError.

    >>> profile_from_text("lead"), profile_from_text("country-double-stops")
    ('lead line', 'country double stops')
    """
    return _named(text, tuple(PROFILES), "profile")


def picking_from_text(text: str) -> str:
    """Return the name of a way of picking; raises SettingsError.

    >>> picking_from_text("economy")
    'economy pick'
    """
    return _named(text, tuple(PICKING), "way of picking")


def _named(text: str, names: tuple[str, ...], what: str) -> str:
    wanted = " ".join(text.replace("-", " ").lower().split())
    if wanted in names:
        return wanted
    found = [name for name in names if wanted and name.startswith(wanted)]
    if len(found) != 1:
        raise SettingsError(f"no such {what}: {text!r}", f"Choose one of: {', '.join(names)}.")
    return found[0]
