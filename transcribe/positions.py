"""Other places on the neck for the notes of a document, each with its reasons, and the one that is chosen."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from fingering.alternatives import Alternative, alternatives
from fingering.cost import PROFILES
from fingering.explain import explain
from fingering.needs import Limits
from fingering.plucking import PICKING
from fingering.search import profile_named
from transcribe.document.edit import (
    PLACE_FIELDS,
    fretboard_of,
    lock,
    locked_place,
    note_of,
    tie_heads,
    unlock,
    with_fingering,
)
from transcribe.document.model import TakeDocument
from transcribe.errors import SettingsError
from transcribe.placing import passage_from_takes
from transcribe.shape_words import limits_from_shape

DEFAULT_PROFILE = "lead line"
DEFAULT_COUNT = 3
ALTERNATIVES = "alternatives"  # key of printed documents that lists the ways; it is not kept
DEFAULT_PICKING = "alternate pick"


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


@dataclass(frozen=True, slots=True)
class Positions:
    """The ways to play a document's notes, the easiest first."""

    document: TakeDocument  # as it was given, with the locks asked for
    ways: tuple[Alternative, ...]  # empty when there are no notes
    profile: str
    picking: str

    def document_with(self, number: int = 1) -> TakeDocument:
        """Return the document played the first way, the second ...; raises SettingsError when there is no such way."""
        if not 1 <= number <= len(self.ways):
            many = f"1 to {len(self.ways)}" if len(self.ways) > 1 else "1 alone"
            mend = f"Ways are numbered {many}." if self.ways else "The document holds no notes."
            raise SettingsError(f"there is no way {number}", mend)
        changed = with_fingering(self.document, self.ways[number - 1].fingering)
        told = changed.tool.get("settings")
        settings = {**(told if isinstance(told, Mapping) else {}), "profile": self.profile, "picking": self.picking}
        unknown = {key: value for key, value in changed.unknown.items() if key != ALTERNATIVES}
        return replace(changed, tool={**changed.tool, "settings": settings}, unknown=unknown)

    def stands_now(self) -> int | None:
        """Return the number of the way that the document has already; None when it has another."""
        now = {take.id: take.placement for take in self.document.notes}
        for number, way in enumerate(self.ways, start=1):
            here = [(now.get(item.id), item) for item in way.fingering.placements]
            if here and all(old is not None and (old.string, old.fret) == (new.string, new.fret) for old, new in here):
                return number
        return None


def find_positions(document: TakeDocument, wishes: Wishes | None = None) -> Positions:
    """Return the easiest way to play a document's notes and the next few that are really different.

    Fields fixed by a person are honoured, those of the document and those of ``wishes``. Raises LockError when two of
    them contradict each other, SettingsError for wishes that nobody could grant.

    >>> from transcribe.document.model import TakeNote
    >>> from transcribe.notes.note import Note
    >>> line = TakeDocument(tuple(TakeNote(Note(f"n{k}", k / 2, k / 2 + 0.5, 60 + k)) for k in range(3)))
    >>> found = find_positions(line, Wishes(strings=frozenset({3})))
    >>> [(take.placement.string, take.placement.fret) for take in found.document_with(1).notes]
    [(3, 5), (3, 6), (3, 7)]
    """
    wishes = wishes or Wishes()
    changed = _with_locks(document, wishes)
    profile = profile_named(wishes.profile or _setting(document, "profile", PROFILES, DEFAULT_PROFILE)).name
    picking = wishes.picking or _setting(document, "picking", PICKING, DEFAULT_PICKING)
    asked = _asked(changed, wishes.bars)
    limits = _limits(changed, wishes, asked)
    takes = [take for take in changed.notes if take.id in asked]
    ways = alternatives(
        passage_from_takes(takes),
        fretboard_of(changed),
        profile=profile,
        limits=dict.fromkeys(asked, limits) if limits is not None else None,
        picking=picking,
        count=wishes.count,
    )
    return Positions(changed, ways, profile, picking)


def why_there(document: TakeDocument, note: str, wishes: Wishes | None = None) -> tuple[str, ...]:
    """Return in words why the easiest way plays one note where it does, rather than on another string."""
    wishes = wishes or Wishes()
    changed = _with_locks(document, wishes)
    note_of(changed, note)
    asked = _asked(changed, wishes.bars)
    limits = _limits(changed, wishes, asked)
    return explain(
        passage_from_takes([take for take in changed.notes if take.id in asked]),
        fretboard_of(changed),
        profile=profile_named(wishes.profile or _setting(document, "profile", PROFILES, DEFAULT_PROFILE)),
        limits=dict.fromkeys(asked, limits) if limits is not None else None,
        note=tie_heads(changed.notes)[note],
    ).words


def _setting(document: TakeDocument, name: str, known: Collection[str], plain: str) -> str:
    """Return what the document was made with, where that is a name we know."""
    settings = document.tool.get("settings")
    value = settings.get(name) if isinstance(settings, Mapping) else None
    return value if isinstance(value, str) and value in known else plain


def _with_locks(document: TakeDocument, wishes: Wishes) -> TakeDocument:
    for name in wishes.unlocks:
        document = unlock(document, name, PLACE_FIELDS)
    for told in wishes.locks:
        document = lock(document, told.note, string=told.string, fret=told.fret, finger=told.finger)
    return document


def _asked(document: TakeDocument, bars: tuple[int, int] | None) -> frozenset[str]:
    """Return the notes to be placed: all, or those written in some bars."""
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


def _limits(document: TakeDocument, wishes: Wishes, asked: Collection[str]) -> Limits | None:
    """Return where the notes may lie; None when nothing was asked."""
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
    if strings is None and frets is None and position is None:
        return None
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
