"""Cadences: how two chords close a phrase.

Open Music Theory (M. Gotham et al.), "Introduction to harmony, cadences": authentic, plagal, half, deceptive; perfect
authentic with both chords in root position and the tonic in the melody.
"""

from __future__ import annotations

from transcribe.harmony.chord import Chord
from transcribe.harmony.key import Key
from transcribe.harmony.names import fifths_of
from transcribe.harmony.roles import tonic_fifths


def cadence(before: Chord, last: Chord, key: Key) -> str | None:
    """Return the cadence that two chords make at the end of a phrase; None when they make none.

    >>> cadence(Chord("C"), Chord("G"), Key("G", "major")), cadence(Chord("D", "7"), Chord("G"), Key("G", "major"))
    ('plagal', 'authentic')
    """
    tonic = tonic_fifths(key)
    steps = (fifths_of(before.root) - tonic, fifths_of(last.root) - tonic)
    leads = 4 in before.steps  # a dominant has the leading tone as its third
    if steps[1] == 0:
        if (steps[0] == 1 and leads) or (steps[0] == 5 and before.kind in ("dim", "dim7", "m7b5")):
            return "authentic"
        return "plagal" if steps[0] == -1 else None
    if steps[0] == 1 and leads and steps[1] == (3 if key.mode == "major" else -4):
        return "deceptive"
    if steps[1] == 1 and steps[0] != 1 and 4 in last.steps and last.kind in ("", "7"):
        return "half"
    return None


def full_cadence(before: Chord, last: Chord, key: Key, *, melody: int) -> str | None:
    """Return the cadence with "perfect" or "imperfect" before authentic; ``melody`` is the last top note (MIDI)."""
    name = cadence(before, last, key)
    if name != "authentic":
        return name
    dominant = fifths_of(before.root) - tonic_fifths(key) == 1
    on_tonic = melody % 12 == last.pitch_classes[0]
    perfect = dominant and before.inversion == 0 and last.inversion == 0 and on_tonic
    return f"{'perfect' if perfect else 'imperfect'} authentic"
