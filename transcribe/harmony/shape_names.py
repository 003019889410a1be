"""Chord shapes from the fingering beside the chords they are played in."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from fingering.solution import ShapeSpan
from transcribe.harmony.chord_span import ChordSpan

CHORD_SHAPE = re.compile(r"[CAGED]-shape( major| minor| seventh| minor seventh| major seventh)?")


def with_shapes(
    chords: Sequence[ChordSpan], shapes: Sequence[ShapeSpan], starts: Mapping[str, Fraction]
) -> tuple[ChordSpan, ...]:
    """Return the chords, each with the shape that more than half of its notes lie in.

    ``starts`` tells where each note starts, in order of time, quarters from the first downbeat. Scale boxes, thirds and
    sixths are no shape of a chord. A chord with no such stretch, or whose shape a person fixed, stays as it is.
    """
    order = {name: index for index, name in enumerate(starts)}
    names = list(starts)
    shape_of: dict[str, ShapeSpan] = {}
    for span in shapes:
        if CHORD_SHAPE.fullmatch(span.name) and {span.first_id, span.last_id} <= order.keys():
            shape_of |= {name: span for name in names[order[span.first_id] : order[span.last_id] + 1]}
    return tuple(_named(chord, shape_of, starts) for chord in chords)


def _named(chord: ChordSpan, shape_of: Mapping[str, ShapeSpan], starts: Mapping[str, Fraction]) -> ChordSpan:
    inside = [name for name, start in starts.items() if chord.start_beat <= start < chord.end_beat]
    found = [shape_of[name] for name in inside if name in shape_of]
    if chord.locked or not found:
        return chord
    most = max(found, key=found.count)
    if 2 * found.count(most) <= len(inside):
        return chord
    return replace(chord, shape=most.name[0], fret=most.fret)
