"""The chords of a take document, from JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from transcribe.document.read_note import located, unknown_keys
from transcribe.harmony.chord_span import ChordSpan
from transcribe.rhythm.rhythm import Rhythm

UNSAID_BAR_BEATS = Fraction(4)  # a last chord with no end lasts a bar; common practice


def chords_from_json(
    raw: Sequence[Mapping[str, Any]], rhythm: Rhythm | None, unknown: dict[str, Any]
) -> tuple[ChordSpan, ...]:
    """Return the chords in the order told; one with no place follows the chord before it and lasts until the next.

    Entries that name no chord are kept in ``unknown``. Raises DocumentError for a chord that ends before it starts.
    """
    named = [(index, chord) for index, chord in enumerate(raw) if chord.get("symbol")]
    nameless = [dict(chord) for chord in raw if not chord.get("symbol")]
    if nameless:
        unknown["chords"] = nameless
    spans: list[ChordSpan] = []
    for place, (index, chord) in enumerate(named):
        following = named[place + 1][1] if place + 1 < len(named) else None
        start, end = _stretch(chord, following, spans[-1].end_beat if spans else Fraction(0), rhythm)
        with located(f"chords[{index}]"):
            spans.append(_span(chord, start, end))
    return tuple(spans)


def _stretch(
    chord: Mapping[str, Any], following: Mapping[str, Any] | None, cursor: Fraction, rhythm: Rhythm | None
) -> tuple[Fraction, Fraction]:
    told, told_end = chord.get("start_beat"), chord.get("end_beat")
    start = cursor if told is None else Fraction(told)
    if told_end is not None:
        return start, Fraction(told_end)
    told_next = None if following is None else following.get("start_beat")
    if told_next is not None and Fraction(told_next) > start:
        return start, Fraction(told_next)
    return start, start + (rhythm.meter.bar_beats if rhythm else UNSAID_BAR_BEATS)


def _span(chord: Mapping[str, Any], start: Fraction, end: Fraction) -> ChordSpan:
    fret = chord.get("fret")
    return ChordSpan(
        start_beat=start,
        end_beat=end,
        symbol=chord["symbol"],
        role=chord.get("role"),
        over=chord.get("over"),
        shape=chord.get("shape"),
        fret=None if fret is None else int(fret),
        source=chord.get("source") or "given",
        backing=chord.get("backing"),
        cadence=chord.get("cadence"),
        locked=tuple(chord.get("locked") or ()),
        unknown=unknown_keys(chord, "chord"),
    )
