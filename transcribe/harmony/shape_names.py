"""Shapes from the fingering: chord shapes beside the chords they are played in, scale shapes named by the key."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from fingering.fretboard import Fretboard
from fingering.harmonies import Harmony
from fingering.regions import MINOR_BOX, regions_of, standard_strings
from fingering.shapes import OPEN_ROOT
from fingering.solution import ShapeSpan
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key
from transcribe.harmony.names import fifths_of, pitch_class

Place = tuple[int, int]  # string, fret
CHORD_SHAPE = re.compile(r"[CAGED]-shape( major| minor| seventh| minor seventh| major seventh)?")
SCALE_SHAPE = re.compile(r"([CAGED])-shape (major|minor) (pentatonic|scale)")
ANY_SHAPE = re.compile(r"[CAGED]-shape")
HOME_SCALES = {"minor": ("minor pentatonic", "minor scale", "blues"), "major": ("major pentatonic", "major scale")}
RELATIVE = 3  # semitones from a minor tonic up to that of its relative major


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


def named_by_key(
    shapes: Sequence[ShapeSpan], key: Key, fretboard: Fretboard, places: Mapping[str, Place] | None = None
) -> tuple[ShapeSpan, ...]:
    """Return the shapes, scales named by the key's own tonic where a shape of its scale holds the same notes.

    ``places`` tells string and fret of each note, in order of time. C major and A minor share every box: in A minor the
    one at the fifth fret is the E-shape minor pentatonic, in C major the G-shape major pentatonic (common practice).

    >>> span = ShapeSpan("n1", "n9", "G-shape major pentatonic", 5)
    >>> str(named_by_key([span], Key("A", "minor"), Fretboard())[0])
    'E-shape minor pentatonic, 5th fret'
    """
    order = {name: index for index, name in enumerate(places or ())}
    listed = list((places or {}).values())
    found = []
    for span in shapes:
        root, tonic = shape_root(span, fretboard), pitch_class(fifths_of(key.tonic))
        named = _by_relative(span, key, fretboard)
        is_scale, known = SCALE_SHAPE.fullmatch(span.name), {span.first_id, span.last_id} <= order.keys()
        if is_scale and named == span and root != tonic and known:
            run = listed[order[span.first_id] : order[span.last_id] + 1]
            named = _at_home(span, frozenset(run), tonic, key, fretboard)
        found.append(named)
    return tuple(found)


def shape_root(span: ShapeSpan, fretboard: Fretboard) -> int | None:
    """Return the pitch class of the root of a shape of the five; None for other shapes."""
    if not ANY_SHAPE.match(span.name):
        return None
    _, above = standard_strings(fretboard)
    return (OPEN_ROOT[span.name[0]] + span.fret + above) % 12


def _at_home(span: ShapeSpan, run: frozenset[Place], tonic: int, key: Key, fretboard: Fretboard) -> ShapeSpan:
    """Return the shape of a scale on the tonic that holds a run, the plainest first; the span as it is for none."""
    for kind in HOME_SCALES[key.mode]:
        for region in regions_of(Harmony(tonic, kind), fretboard):
            if run <= region.places:
                return replace(span, name=region.name, fret=region.fret)
    return span


def _by_relative(span: ShapeSpan, key: Key, fretboard: Fretboard) -> ShapeSpan:
    match, root = SCALE_SHAPE.fullmatch(span.name), shape_root(span, fretboard)
    if match is None or match[2] == key.mode or root is None:
        return span
    tonic = pitch_class(fifths_of(key.tonic))
    if key.mode == "minor" and root == (tonic + RELATIVE) % 12:
        letter, behind = MINOR_BOX[match[1]]
        fret = span.fret - behind
    elif key.mode == "major" and root == (tonic - RELATIVE) % 12:
        letter, behind = next((major, back) for major, (minor, back) in MINOR_BOX.items() if minor == match[1])
        fret = span.fret + behind
    else:
        return span
    if fret < 0:  # the box of the open strings has its root behind the nut
        return span
    return replace(span, name=f"{letter}-shape {key.mode} {match[3]}", fret=fret)
