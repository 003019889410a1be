"""Sounds in a bar to written values: cut at beats so that the beat can be seen, with as few signs as that allows.

The rules are those of engraving practice (E. Gould, "Behind Bars", Faber 2011, chapters on rhythm; from memory). Beats
are shown, and the syncopations excepted that are read at sight (R. Hutchinson, "Music Theory for the 21st-Century
Classroom", an open textbook, section "Common Rhythmic Notation Errors"): the middle of a 4/4 bar is shown unless a note
starts on beat 1, or is the half note of quarter, half, quarter; a note that starts between beats may cover the next
beat as a plain syncopation; rests stand only where their own length divides the bar; triplets are written whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import pairwise

from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.rhythm import Meter
from transcribe.score.score import NOTE_TYPES, WrittenValue

FINEST = Fraction(1, 8)  # a 32nd
TRIPLET = (3, 2)


@dataclass(frozen=True, slots=True)
class Span:
    """A sound or a silence inside one bar; ``sound`` tells which, None for silence."""

    start: Fraction  # quarters from where a full bar would begin
    end: Fraction
    sound: int | None


@dataclass(frozen=True, slots=True)
class Piece:
    """One written sign of a span."""

    start: Fraction
    value: WrittenValue
    sound: int | None
    tuplet_starts: bool = False
    tuplet_stops: bool = False


@cache
def single_value(length: Fraction) -> WrittenValue | None:
    """Return the one plain or dotted sign of a length in quarters, or None when it takes two.

    >>> single_value(Fraction(3, 2))
    WrittenValue(type='quarter', dots=1, tuplet=None)
    """
    for name, plain in NOTE_TYPES.items():
        if length == plain:
            return WrittenValue(name)
        if length == plain * Fraction(3, 2) and plain > FINEST:
            return WrittenValue(name, dots=1)
    return None


def write_spans(spans: Sequence[Span], meter: Meter) -> tuple[Piece, ...]:
    """Return the signs of the spans of one bar, in order. Spans follow one another without a gap."""
    triplets = triplet_stretches(spans, pulse_beats(meter))
    pieces: list[Piece] = []
    for start, end, is_triplet in _stretches(spans[0].start, spans[-1].end, triplets):
        inside = [part for span in spans if (part := _part(span, start, end)) is not None]
        pieces += _write_triplet(inside, start, end) if is_triplet else _write_plain(inside, meter)
    return tuple(pieces)


def triplet_stretches(spans: Sequence[Span], pulse: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Return the stretches of a bar, as start and end, that must be written as a triplet.

    Two beats in three when nothing else falls into them, else one beat, or half a beat when its middle is struck.
    """
    cuts = {span.start for span in spans} | {spans[-1].end}
    first, last = spans[0].start, spans[-1].end
    found: list[tuple[Fraction, Fraction]] = []
    beat = first // pulse * pulse
    while beat < last:
        double = beat + 2 * pulse
        wide = _inner(cuts, beat, double)
        whole = beat >= first and double <= last and (beat / pulse) % 2 == 0
        if whole and any(cut % FINEST for cut in wide) and _thirds_only(wide, beat, 2 * pulse / 3):
            found.append((beat, double))
            beat = double
            continue
        found += _in_one_beat(cuts, beat, pulse)
        beat += pulse
    return found


def _in_one_beat(cuts: set[Fraction], beat: Fraction, pulse: Fraction) -> list[tuple[Fraction, Fraction]]:
    middle, end = beat + pulse / 2, beat + pulse
    odd = [cut for cut in _inner(cuts, beat, end) if (cut - beat) % FINEST]
    if not odd:
        return []
    if middle in cuts:
        halves = ((beat, middle), (middle, end))
        return [(low, high) for low, high in halves if any(low < cut < high for cut in odd)]
    return [(beat, end)]


def _inner(cuts: Iterable[Fraction], start: Fraction, end: Fraction) -> list[Fraction]:
    return [cut for cut in cuts if start < cut < end]


def _thirds_only(cuts: Iterable[Fraction], start: Fraction, third: Fraction) -> bool:
    return all((cut - start) % third == 0 for cut in cuts)


def _stretches(
    first: Fraction, last: Fraction, triplets: Sequence[tuple[Fraction, Fraction]]
) -> list[tuple[Fraction, Fraction, bool]]:
    found, at = [], first
    for start, end in triplets:
        if at < start:
            found.append((at, start, False))
        found.append((start, end, True))
        at = end
    if at < last:
        found.append((at, last, False))
    return found


def _part(span: Span, start: Fraction, end: Fraction) -> Span | None:
    low, high = max(span.start, start), min(span.end, end)
    return Span(low, high, span.sound) if low < high else None


def _write_triplet(spans: Sequence[Span], start: Fraction, end: Fraction) -> list[Piece]:
    """Written as three of a plain value in the time of two, each span in its own signs."""
    stretch = Fraction(*TRIPLET)
    pieces: list[Piece] = []
    for span in spans:
        at = (span.start - start) * stretch
        lengths = _triplet_lengths(at, (span.end - start) * stretch)
        for length in lengths:
            plain = single_value(length)
            assert plain is not None
            value = WrittenValue(plain.type, plain.dots, TRIPLET)
            pieces.append(Piece(start + at / stretch, value, span.sound))
            at += length
    pieces[0] = _marked(pieces[0], starts=True)
    pieces[-1] = _marked(pieces[-1], stops=True)
    return pieces


def _triplet_lengths(start: Fraction, end: Fraction) -> list[Fraction]:
    length = end - start
    if single_value(length) is not None:
        return [length]
    largest = max(plain for plain in NOTE_TYPES.values() if plain < length)
    return [largest, *_triplet_lengths(start + largest, end)]


def _marked(piece: Piece, *, starts: bool = False, stops: bool = False) -> Piece:
    return replace(piece, tuplet_starts=piece.tuplet_starts or starts, tuplet_stops=piece.tuplet_stops or stops)


def _write_plain(spans: Sequence[Span], meter: Meter) -> list[Piece]:
    pieces = []
    for span in spans:
        cuts = _cheapest_cuts(span.start, span.end, meter, rest=span.sound is None)
        for low, high in pairwise(cuts):
            value = single_value(high - low)
            assert value is not None
            pieces.append(Piece(low, value, span.sound))
    return pieces


@cache
def _cheapest_cuts(start: Fraction, end: Fraction, meter: Meter, *, rest: bool) -> tuple[Fraction, ...]:
    """Where to cut a span so that every part is one allowed sign: fewest parts, then cuts on the strongest places."""
    allowed = rest_allowed if rest else note_allowed
    best: dict[Fraction, tuple[float, tuple[Fraction, ...]]] = {start: (0.0, (start,))}
    at = start
    while at <= end:
        if at in best:
            cost, cuts = best[at]
            for length in _lengths():
                to = at + length
                if to <= end and allowed(at, to, meter):
                    total = cost + 1.0 + (0.0 if to == end else _weakness(to, meter))
                    if to not in best or total < best[to][0]:
                        best[to] = (total, (*cuts, to))
        at += FINEST
    return best[end][1]


@cache
def _lengths() -> tuple[Fraction, ...]:
    plain = tuple(NOTE_TYPES.values())
    return tuple(sorted(plain + tuple(length * Fraction(3, 2) for length in plain if length > FINEST)))


def _weakness(at: Fraction, meter: Meter) -> float:
    pulse = pulse_beats(meter)
    if at == _middle(meter):
        return 0.0
    if at % pulse == 0:
        return 0.05
    return 0.1 if at % Fraction(1, 2) == 0 else 0.2


def _middle(meter: Meter) -> Fraction | None:
    """The point that must be seen in bars of four or more beats that halve."""
    beats = meter.bar_beats / pulse_beats(meter)
    return meter.bar_beats / 2 if beats >= 4 and beats % 2 == 0 else None


def _hides_middle(start: Fraction, end: Fraction, meter: Meter) -> bool:
    middle = _middle(meter)
    return middle is not None and start < middle < end and start != 0


def note_allowed(start: Fraction, end: Fraction, meter: Meter) -> bool:
    """Whether one sign may stand for a note from ``start`` to ``end`` of a bar.

    >>> note_allowed(Fraction(1), Fraction(3), Meter(4, 4)), note_allowed(Fraction(1), Fraction(4), Meter(4, 4))
    (True, False)
    """
    pulse, length = pulse_beats(meter), end - start
    if _hides_middle(start, end, meter):
        return meter.bar_beats == 4 * pulse and pulse == 1 and (start, end) == (pulse, 3 * pulse)
    first, last = start // pulse * pulse, start // pulse * pulse + pulse
    if end <= last:
        return _fits_beat(start - first, end - first, pulse)
    if pulse == Fraction(3, 2):
        return start == first and end % pulse == 0
    if start == first:
        return end % (pulse / 2) == 0
    return (start - first) * 2 == pulse and end % (pulse / 2) == 0 and length <= pulse * Fraction(3, 2)


def _fits_beat(start: Fraction, end: Fraction, beat: Fraction) -> bool:
    """Within a beat: whole halves, from its start, to its end, or as a small syncopation around its middle."""
    if beat == Fraction(3, 2):  # three eighths: each of them is seen, unless whole ones are covered
        half = Fraction(1, 2)
        low = start // half * half
        inside = end <= low + half and _fits_beat(start - low, end - low, half)
        return inside or (start % half == 0 and end % Fraction(1, 4) == 0) or (end % half == 0 and start % half != 0)
    if beat <= FINEST:
        return True
    half = beat / 2
    if end <= half:
        return _fits_beat(start, end, half)
    if start >= half:
        return _fits_beat(start - half, end - half, half)
    return start == 0 or end == beat or (start == beat / 4 and end == beat * Fraction(3, 4))


def rest_allowed(start: Fraction, end: Fraction, meter: Meter) -> bool:
    """Whether one sign may stand for a silence from ``start`` to ``end`` of a bar.

    >>> rest_allowed(Fraction(0), Fraction(2), Meter(4, 4)), rest_allowed(Fraction(1), Fraction(3), Meter(4, 4))
    (True, False)
    """
    length, pulse = end - start, pulse_beats(meter)
    value = single_value(length)
    if value is None or (start == 0 and end == meter.bar_beats):
        return value is not None
    if _hides_middle(start, end, meter) or (start == 0 and _middle(meter) is not None and end > meter.bar_beats / 2):
        return False
    if pulse == Fraction(3, 2):
        if start % pulse == 0 and end % pulse == 0:
            return length == pulse or end % (2 * pulse) == 0
        in_one_beat = start // pulse == (end - FINEST) // pulse
        return value.dots == 0 and in_one_beat and start % pulse % length == 0
    if value.dots or start % length:
        return False
    return length <= pulse or _middle(meter) is not None
