"""What a person asks of the places on the neck, and the limits that follow for each note."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from fingering.needs import Limits
from transcribe.document.edit import fretboard_of, locked_place
from transcribe.document.model import TakeDocument
from transcribe.errors import SettingsError
from transcribe.shape_words import limits_from_shape

DEFAULT_COUNT = 3
TOGETHER_S = 0.05  # notes overlapping by less follow one another on one string; a tenth of a beat at 120


@dataclass(frozen=True, slots=True)
class Lock:
    """A string, fret or finger that a person fixes for one note; None leaves it free."""

    note: str
    string: int | None = None
    fret: int | None = None
    finger: int | None = None


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a person asks of the places; None is no limit."""

    strings: frozenset[int] | None = None
    frets: tuple[int, int] | None = None  # from the nut or capo
    position: int | None = None  # fret under the index finger
    shape: str | None = None  # "E", "E of A" or "E at 5"
    bars: tuple[int, int] | None = None  # only these bars; the others stay as they are
    locks: tuple[Lock, ...] = ()
    unlocks: tuple[str, ...] = ()  # ids of notes to be free again
    profile: str | None = None  # None: the one the document was made with
    picking: str | None = None
    count: int = DEFAULT_COUNT  # how many other ways to look for


def asked_notes(document: TakeDocument, bars: tuple[int, int] | None) -> frozenset[str]:
    """Return the notes to be placed: all, or those written in some bars; raises SettingsError when there are none."""
    if bars is None:
        return frozenset(take.id for take in document.notes)
    if document.rhythm is None or not any(take.timing for take in document.notes):
        raise SettingsError("this document has no bars", "Leave --bars out, or draft the take again.")
    inside = frozenset(
        take.id for take in document.notes if take.timing is not None and bars[0] <= take.timing.bar <= bars[1]
    )
    if not inside:
        last = max(take.timing.bar for take in document.notes if take.timing is not None)
        raise SettingsError(f"no note begins in bars {bars[0]} to {bars[1]}", f"The last bar is {last}.")
    return inside


def limits_for(document: TakeDocument, wishes: Wishes, asked: Collection[str]) -> dict[str, Limits]:
    """Return where each note may lie; notes without a limit are left out.

    A string on which a note of other bars still sounds is not free. Raises SettingsError for wishes that nobody could
    grant, or that contradict what a person fixed.
    """
    common = _common_limits(document, wishes, asked)
    busy = _busy_strings(document, asked)
    every = frozenset(range(1, len(document.instrument.open_strings_midi) + 1))
    limits: dict[str, Limits] = {}
    for name in asked:
        if name in busy:
            strings = (common.strings or every) - busy[name]
            limits[name] = Limits(strings, common.frets, common.positions)
        elif common != Limits():
            limits[name] = common
    return limits


def _busy_strings(document: TakeDocument, asked: Collection[str]) -> dict[str, frozenset[int]]:
    """Return, by note, the strings on which notes that are not to be placed sound at the same time."""
    mine = [take for take in document.notes if take.id in asked]
    first_s = min((take.note.onset_s for take in mine), default=0.0)
    last_s = max((take.note.offset_s for take in mine), default=0.0)
    beside = [
        (take.note.onset_s, take.note.offset_s, take.placement.string)
        for take in document.notes
        if take.id not in asked
        and take.placement is not None
        and take.note.offset_s > first_s
        and take.note.onset_s < last_s
    ]
    busy = {
        take.id: frozenset(
            string
            for onset_s, offset_s, string in beside
            if min(take.note.offset_s, offset_s) - max(take.note.onset_s, onset_s) > TOGETHER_S
        )
        for take in mine
    }
    return {name: strings for name, strings in busy.items() if strings}


def _common_limits(document: TakeDocument, wishes: Wishes, asked: Collection[str]) -> Limits:
    neck = fretboard_of(document)
    strings = wishes.strings
    if strings is not None and not all(1 <= string <= len(neck.open_midi) for string in strings):
        raise SettingsError(
            f"this guitar has {len(neck.open_midi)} strings", "Strings are numbered from 1, the highest."
        )
    ranges: list[tuple[str, tuple[int, int]]] = []
    if wishes.frets is not None:
        ranges.append((f"frets {wishes.frets[0]} to {wishes.frets[1]}", wishes.frets))
    if wishes.shape is not None:
        pitches = [take.note.midi for take in document.notes if take.id in asked]
        shape = limits_from_shape(wishes.shape, document, neck, pitches)
        if shape.frets is not None:
            ranges.append((f"the shape (frets {shape.frets[0]} to {shape.frets[1]})", shape.frets))
    frets = _common(ranges)
    if frets is not None and frets[0] > neck.last_fret:
        raise SettingsError(f"this neck ends at fret {neck.last_fret}", "Choose lower frets.")
    position = wishes.position
    if position is not None and not 1 <= position <= neck.last_fret:
        raise SettingsError(f"there is no position {position} on this neck", f"Give 1 to {neck.last_fret}.")
    free = _locked_outside(document, asked, strings, frets)
    if free:
        raise SettingsError(
            f"note {free} is fixed outside the strings and frets asked for",
            f"Free it with --unlock {free}, or widen the strings and frets.",
        )
    return Limits(strings, frets, None if position is None else (position, position))


def _locked_outside(
    document: TakeDocument, asked: Collection[str], strings: frozenset[int] | None, frets: tuple[int, int] | None
) -> str | None:
    """Return the first note that a person fixed outside these strings and frets."""
    for take in document.notes:
        fixed = locked_place(take)
        string, fret = fixed["string"], fixed["fret"]
        outside = (string is not None and strings is not None and string not in strings) or (
            fret is not None and frets is not None and not frets[0] <= fret <= frets[1]
        )
        if take.id in asked and outside:
            return take.id
    return None


def _common(ranges: Iterable[tuple[str, tuple[int, int]]]) -> tuple[int, int] | None:
    found: tuple[int, int] | None = None
    names = []
    for name, (low, high) in ranges:
        names.append(name)
        found = (low, high) if found is None else (max(found[0], low), min(found[1], high))
    if found is not None and found[0] > found[1]:
        raise SettingsError(f"{names[0]} and {names[1]} do not meet", "Leave one of the two out.")
    return found
