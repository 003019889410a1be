"""The seam to the neck: notes to a fingering.Passage, with what a person fixed and what the sound says."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from fingering.passage import Join, Passage, Pluck
from transcribe.document.edit import locked_place, tie_heads
from transcribe.document.model import TakeNote
from transcribe.notes.note import Note
from transcribe.rhythm.quantize import beats_of
from transcribe.rhythm.rhythm import Rhythm

# A hammered, pulled or slid note starts where the one before it stops; measured gaps on our made takes stay below this.
JOIN_GAP_S = 0.12


def passage_from_notes(notes: Iterable[Note], beats: Mapping[str, Fraction] | None = None) -> Passage:
    """Return the passage to be fingered: what each note needs of a string, and which notes must share one.

    ``beats`` tells where notes are written, by id, in beats from a bar line: picking strokes go with it. Dead notes
    keep their guessed pitch; a join that finds no note to follow is dropped rather than invented.
    """
    ordered = sorted(notes, key=lambda note: (note.onset_s, -note.midi))
    slid_from = {note.slide.to: note.id for note in ordered if note.slide is not None and note.slide.to is not None}
    plucks: list[Pluck] = []
    for index, note in enumerate(ordered):
        join, joined_to = _join(note, ordered, index, slid_from)
        plucks.append(
            Pluck(
                id=note.id,
                onset_s=note.onset_s,
                end_s=note.offset_s,
                midi=note.midi,
                bend_semitones=note.highest_bend_cents / 100.0,
                join=join,
                joined_to=joined_to,
                slid_in=note.slide is not None and note.slide.kind in ("in", "out"),
                vibrato=note.vibrato is not None,
                let_ring=note.let_ring,
                dead=note.mute == "dead",
                harmonic=note.harmonic == "natural",
                artificial=note.harmonic == "artificial",
                string_weights=note.string_weights,
                beats=(beats or {}).get(note.id),
            )
        )
    return Passage(tuple(plucks))


def passage_from_takes(takes: Sequence[TakeNote], rhythm: Rhythm | None = None) -> Passage:
    """Return the passage of a document's notes, each with the string, fret and finger that a person fixed.

    ``rhythm`` is the document's: with it the passage knows where in the beat each note is written.
    Notes tied together are one pluck: it sounds to the end of the last one, and a lock on any of them holds it.
    """
    heads = tie_heads(takes)
    ends_s: dict[str, float] = {}
    fixed: dict[str, dict[str, int | None]] = {}
    for take in takes:
        head = heads[take.id]
        ends_s[head] = max(ends_s.get(head, 0.0), take.note.offset_s)
        told = fixed.setdefault(head, {})
        told.update({name: value for name, value in locked_place(take).items() if value is not None})
    struck = [replace(take.note, offset_s=ends_s[take.id]) for take in takes if heads[take.id] == take.id]
    timings = {take.id: take.timing for take in takes if take.timing is not None}
    passage = passage_from_notes(struck, beats_of(timings, rhythm) if rhythm is not None else None)
    return Passage(
        tuple(
            replace(
                pluck,
                locked_string=fixed[pluck.id].get("string"),
                locked_fret=fixed[pluck.id].get("fret"),
                locked_finger=fixed[pluck.id].get("finger"),
            )
            for pluck in passage.plucks
        )
    )


def _join(note: Note, ordered: Sequence[Note], index: int, slid_from: Mapping[str, str]) -> tuple[Join, str | None]:
    """Return how ``note``, number ``index``, follows an earlier one on the same string, and which one."""
    if note.attack not in ("hammer-on", "pull-off") and note.id not in slid_from:
        return "none", None
    earlier = ordered[:index]
    if note.id in slid_from and any(other.id == slid_from[note.id] for other in earlier):
        return "slide", slid_from[note.id]
    if note.attack not in ("hammer-on", "pull-off"):
        return "none", None
    rising = note.attack == "hammer-on"
    candidates = [
        other
        for other in earlier
        if other.onset_s < note.onset_s
        and abs(other.offset_s - note.onset_s) <= JOIN_GAP_S
        and ((other.midi < note.midi) if rising else (other.midi > note.midi))
    ]
    if not candidates:
        return "none", None
    nearest = min(candidates, key=lambda other: abs(other.midi - note.midi))
    return ("hammer-on" if rising else "pull-off"), nearest.id
