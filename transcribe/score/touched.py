"""Where a string is touched for an artificial harmonic."""

from __future__ import annotations

from fingering.fretboard import HARMONIC_NODES
from transcribe.document.model import Instrument, TakeNote


def touched_fret(item: TakeNote, instrument: Instrument) -> int | None:
    """Return the fret over which the picking hand touches the string; None where that does not follow from the pitch.

    The touched point is a node of the string that is left to sound from the fretted note on: as many frets above it
    as a natural harmonic of the same interval has above the open string (overtone series). It may lie past the last
    fret.
    """
    place = item.placement
    if place is None or item.note.harmonic != "artificial":
        return None
    if not 1 <= place.string <= len(instrument.open_strings_midi):
        return None
    fretted_midi = instrument.open_strings_midi[place.string - 1] + instrument.capo + place.fret
    nodes = HARMONIC_NODES.get(item.note.midi - fretted_midi)
    return None if nodes is None else place.fret + nodes[0]
