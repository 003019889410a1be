"""Other places on the neck for the notes of a document, each with its reasons, and the one that is chosen."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from fingering.alternatives import Alternative, alternatives
from fingering.cost import PROFILES
from fingering.explain import explain
from fingering.plucking import PICKING
from fingering.search import profile_named
from transcribe.document.analyse import is_analysed, with_paragraph
from transcribe.document.edit import (
    PLACE_FIELDS,
    fretboard_of,
    lock,
    note_of,
    tie_heads,
    unlock,
    with_fingering,
)
from transcribe.document.model import TakeDocument
from transcribe.errors import SettingsError
from transcribe.placing import passage_from_takes
from transcribe.wishes import Lock, Wishes, asked_notes, limits_for

__all__ = ["Lock", "Positions", "Wishes", "find_positions", "why_there"]

DEFAULT_PROFILE = "lead line"
ALTERNATIVES = "alternatives"  # key of printed documents that lists the ways; it is not kept
DEFAULT_PICKING = "alternate pick"


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
        if is_analysed(self.document):  # the words about it tell the shape and position
            changed = with_paragraph(changed)
        told = changed.tool.get("settings")
        settings = {**(told if isinstance(told, Mapping) else {}), "profile": self.profile, "picking": self.picking}
        settings["place"] = "chosen"  # by a person: a new draft is not written over it
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
    asked = asked_notes(changed, wishes.bars)
    limits = limits_for(changed, wishes, asked)
    takes = [take for take in changed.notes if take.id in asked]
    ways = alternatives(
        passage_from_takes(takes, changed.rhythm),
        fretboard_of(changed),
        profile=profile,
        limits=limits,
        picking=picking,
        count=wishes.count,
    )
    return Positions(changed, ways, profile, picking)


def why_there(document: TakeDocument, note: str, wishes: Wishes | None = None) -> tuple[str, ...]:
    """Return in words why the easiest way plays one note where it does, rather than on another string."""
    wishes = wishes or Wishes()
    changed = _with_locks(document, wishes)
    note_of(changed, note)
    asked = asked_notes(changed, wishes.bars)
    limits = limits_for(changed, wishes, asked)
    return explain(
        passage_from_takes([take for take in changed.notes if take.id in asked], changed.rhythm),
        fretboard_of(changed),
        profile=profile_named(wishes.profile or _setting(document, "profile", PROFILES, DEFAULT_PROFILE)),
        limits=limits,
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
