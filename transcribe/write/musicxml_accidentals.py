"""Which accidentals a bar shows: those that the key signature and the bar itself do not tell yet."""

from __future__ import annotations

from collections.abc import Mapping

from transcribe.score.score import Bar

SHARP_ORDER = "FCGDAEB"  # sharps join the key signature in this order, flats in the reverse one


def accidentals(bar: Bar, fifths: int) -> Mapping[str, int]:
    """Return the alteration to show by note id: 1 sharp, 0 natural, -1 flat. Both voices share the staff.

    A note tied over the bar line showed its own in the bar before.
    """
    told: dict[tuple[str, int], int] = {}
    shown: dict[str, int] = {}
    events = sorted((event for voice in bar.voices for event in voice), key=lambda event: event.beat)
    for head in (head for event in events for head in event.notes if not head.tied_from):
        name = head.spelled
        before = told.get((name.step, name.octave), signature_alter(name.step, fifths))
        told[name.step, name.octave] = name.alter
        if name.alter != before:
            shown[head.take.id] = name.alter
    return shown


def signature_alter(step: str, fifths: int) -> int:
    """Return how the key signature alters a letter: 1 for a sharp, -1 for a flat.

    >>> signature_alter("F", 1), signature_alter("B", -1), signature_alter("C", 0)
    (1, -1, 0)
    """
    if fifths >= 0:
        return 1 if step in SHARP_ORDER[:fifths] else 0
    return -1 if step in SHARP_ORDER[fifths:] else 0
