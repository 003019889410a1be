"""Chords of a take to symbols over the bars they begin in."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from transcribe.harmony.chord_span import ChordSpan
from transcribe.rhythm.quantize import timing_at
from transcribe.rhythm.rhythm import Rhythm
from transcribe.score.score import Bar, ChordMark


def chord_marks(
    chords: Sequence[ChordSpan], bars: Sequence[Bar], rhythm: Rhythm, moved: Fraction
) -> tuple[ChordMark, ...]:
    """Return a mark for every chord that sounds in the score, in order.

    ``moved`` is how many quarters later the bars stand than the take counts. A chord that began before the first bar
    is marked at its start; one after the last bar is left out. Two on one place: the later in the list wins.
    """
    last = bars[-1]
    first = Fraction(0) if bars[0].number else -rhythm.pickup_beats
    found: dict[tuple[int, Fraction], ChordMark] = {}
    for chord in sorted(chords, key=lambda chord: chord.start_beat):
        if chord.end_beat + moved <= first:
            continue
        at = timing_at(max(first, chord.start_beat + moved), chord.end_beat - chord.start_beat, rhythm)
        if at.bar > last.number:
            continue
        found[at.bar, at.beat] = ChordMark(
            at.bar,
            at.beat,
            chord.symbol,
            chord.role,
            chord.over,
            chord.shape,
            chord.fret,
            chord.backing,
            chord.cadence,
        )
    return tuple(found[place] for place in sorted(found))
