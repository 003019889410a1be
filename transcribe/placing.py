"""The seam to the neck: notes to a fingering.Passage, and positions back."""

from __future__ import annotations

from collections.abc import Sequence

from fingering.passage import Join, Passage, Pluck
from transcribe.notes.note import Note

# A hammered, pulled or slid note starts where the one before it stops; measured gaps on our made takes stay below this.
JOIN_GAP_S = 0.12


def passage_from_notes(notes: Sequence[Note]) -> Passage:
    """Return the passage to be fingered: what each note needs of a string, and which notes must share one.

    Dead notes keep their guessed pitch; a join that finds no note to follow is dropped rather than invented.
    """
    ordered = sorted(notes, key=lambda note: (note.onset_s, -note.midi))
    slid_from = {note.slide.to: note.id for note in ordered if note.slide is not None and note.slide.to is not None}
    plucks: list[Pluck] = []
    for index, note in enumerate(ordered):
        join, joined_to = _join(note, ordered[:index], slid_from)
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
            )
        )
    return Passage(tuple(plucks))


def _join(note: Note, earlier: Sequence[Note], slid_from: dict[str, str]) -> tuple[Join, str | None]:
    """Return how ``note`` follows an earlier one on the same string, and which one."""
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
