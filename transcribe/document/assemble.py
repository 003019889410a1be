"""What the rooms before decided, gathered into one document."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from fingering.passage import Placement
from transcribe.document.model import Instrument, Source, TakeDocument, TakeNote
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt, Note
from transcribe.rhythm.rhythm import Rhythm, Timing


def assemble(
    notes: Sequence[Note],
    *,
    timings: Mapping[str, Timing],
    placements: Iterable[Placement],
    doubts: Iterable[Doubt],
    instrument: Instrument,
    source: Source | None = None,
    rhythm: Rhythm | None = None,
    key: Key | None = None,
    choices: Mapping[str, Any] | None = None,
) -> TakeDocument:
    """Return the document of a take: notes in order of onset, doubts in the order of their notes, the take's first."""
    placed = {placement.id: placement for placement in placements}
    ordered = sorted(notes, key=lambda note: (note.onset_s, -note.midi))
    order = {note.id: index for index, note in enumerate(ordered)}
    return TakeDocument(
        notes=tuple(TakeNote(note, placed.get(note.id), timings.get(note.id)) for note in ordered),
        instrument=instrument,
        source=source,
        rhythm=rhythm,
        key=key,
        doubts=tuple(sorted(dict.fromkeys(doubts), key=lambda doubt: order.get(doubt.note or "", -1))),
        tool={"name": "takesheet", "version": _tool_version(), "settings": dict(choices or {})},
    )


def _tool_version() -> str:
    try:
        return version("takesheet")
    except PackageNotFoundError:  # run from a folder that was never installed
        return "unknown"
