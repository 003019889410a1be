"""Locks that contradict each other, found before any search."""

from __future__ import annotations

from collections.abc import Mapping

from fingering.errors import LockError, PassageError
from fingering.fretboard import Fretboard
from fingering.needs import FREE, Limits, need_of, places_for
from fingering.passage import Passage, Pluck


def check_passage(passage: Passage, fretboard: Fretboard) -> None:
    """Raise PassageError when a note weighs other strings than the neck has."""
    strings = len(fretboard.open_midi)
    for pluck in passage.plucks:
        if pluck.string_weights is not None and len(pluck.string_weights) != strings:
            raise PassageError(
                f"note {pluck.id} has weights for {len(pluck.string_weights)} strings of a guitar with {strings}",
                "Give one weight a string, string 1 first, or none at all.",
            )


def check_locks(passage: Passage, fretboard: Fretboard, limits: Mapping[str, Limits]) -> None:
    """Raise LockError, naming the two, when fixed strings, frets, fingers or limits can never hold together."""
    by_id = {pluck.id: pluck for pluck in passage.plucks}
    for pluck in passage.plucks:
        try:
            places_for(need_of(pluck, limits.get(pluck.id, FREE)), fretboard)
        except LockError as error:
            raise LockError(f"note {pluck.id}: {error.found}", error.mend) from None
        if pluck.joined_to is not None:
            _check_join(by_id[pluck.joined_to], pluck)


def _check_join(first: Pluck, second: Pluck) -> None:
    strings = (first.locked_string, second.locked_string)
    if None not in strings and strings[0] != strings[1]:
        raise LockError(
            f"notes {first.id} and {second.id} are joined by a {second.join} but locked to strings "
            f"{strings[0]} and {strings[1]}",
            "Lock both to one string, or remove the join.",
        )
    fingers = (first.locked_finger, second.locked_finger)
    if None in fingers:
        return
    if second.join == "slide" and fingers[0] != fingers[1]:
        raise LockError(
            f"notes {first.id} and {second.id} are one slide but locked to fingers {fingers[0]} and {fingers[1]}",
            "A slide keeps its finger: lock one of them only.",
        )
    if second.join != "slide" and fingers[0] == fingers[1]:
        raise LockError(
            f"notes {first.id} and {second.id} are joined by a {second.join} but locked to the same finger",
            "A hammer-on or pull-off needs two fingers: lock one of them only.",
        )
