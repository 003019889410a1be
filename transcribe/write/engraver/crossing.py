"""Voices that cross: a note held over in the lower voice above notes struck in the upper one is written with them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from transcribe.score.score import Event

Voice = tuple[Event, ...]


def uncrossed(upper: Voice, lower: Voice) -> tuple[Voice, ...]:
    """Return the voices of a bar, with every lower event that crosses an upper one written as part of its chord.

    Only where both begin together and are as long: two stems through one another would say nothing more. A lower voice
    with nothing left is left out.
    """
    struck = {event.beat: event for event in upper}
    moved: dict[Fraction, Event] = {
        event.beat: event for event in lower if event.beat in struck and _crosses(struck[event.beat], event)
    }
    if not moved:
        return upper, lower
    above = tuple(_joined(event, moved[event.beat]) if event.beat in moved else event for event in upper)
    below = tuple(Event(event.beat, event.value, hidden=True) if event.beat in moved else event for event in lower)
    return (above, below) if any(event.notes for event in below) else (above,)


def _crosses(upper: Event, lower: Event) -> bool:
    if not upper.notes or not lower.notes or upper.value != lower.value or upper.value.tuplet is not None:
        return False
    higher, deeper = ({head.take.note.midi for head in event.notes} for event in (upper, lower))
    return min(higher) < max(deeper) and not higher & deeper


def _joined(upper: Event, lower: Event) -> Event:
    heads = sorted((*upper.notes, *lower.notes), key=lambda head: -head.take.note.midi)
    return replace(upper, notes=tuple(heads))
