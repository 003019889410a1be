"""Where the phrases of a line end: at rests, at notes longer than their neighbours, at the ends of groups of bars.

Grouping by proximity (F. Lerdahl, R. Jackendoff, "A Generative Theory of Tonal Music", 1983, preference rule 2: a gap
longer than those beside it is a boundary; from memory) and by four bars (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from statistics import median

from transcribe.harmony.sounding import Sounded

REST_QUARTERS = Fraction(1)  # silence at least so long parts two phrases
LONG_TIMES = 2  # a moment lasting so many times the usual one, and more than its neighbours, ends a phrase ...
LONG_QUARTERS = Fraction(3, 2)  # ... if it lasts at least so long
RARE = 0.2  # share of the moments that may last as long: in a rhythm of long and short, long ones end nothing
GROUP_BARS = 4  # at the end of such a group a moment that is not short is enough
SHORTEST_PHRASE = Fraction(4)  # quarters between two ends


def phrase_ends(line: Sequence[Sounded], bar_quarters: Fraction | None) -> tuple[Fraction, ...]:
    """Return where the last moment of each phrase starts, in quarters; the last moment of the line always ends one.

    >>> from fractions import Fraction as F
    >>> notes = [Sounded(f"n{k}", 60, 60, F(k), F(1), F(k + 1)) for k in (0, 1, 2, 3, 6, 7)]
    >>> [str(place) for place in phrase_ends(notes, F(4))]
    ['3', '7']
    """
    starts = sorted({note.start for note in line})
    if not starts:
        return ()
    sounds_to: dict[Fraction, Fraction] = {}
    for note in line:
        sounds_to[note.start] = max(sounds_to.get(note.start, note.end), note.end)
    gaps = [after - start for start, after in pairwise(starts)]
    usual = median(gaps) if gaps else Fraction(1)
    long = max(LONG_TIMES * usual, LONG_QUARTERS)
    common = sorted(gaps)[-1 - int(RARE * len(gaps))] if gaps else Fraction(0)
    shortest = min(SHORTEST_PHRASE, bar_quarters or SHORTEST_PHRASE)
    pickup = max(Fraction(0), -starts[0])
    found: list[Fraction] = []
    for index, (start, after) in enumerate(pairwise(starts)):
        gap = after - start
        rests = after - sounds_to[start] >= REST_QUARTERS
        beside = gaps[max(0, index - 1) : index] + gaps[index + 1 : index + 2]
        stands_out = gap >= long and gap > max(common, *beside)
        closes_group = bar_quarters is not None and _is_group_end(start, after, pickup, bar_quarters)
        lasting = after - (found[-1] if found else starts[0])
        if (rests or stands_out or (closes_group and gap >= usual)) and lasting >= shortest:
            found.append(start)
    return (*found, starts[-1])


def _is_group_end(start: Fraction, after: Fraction, pickup: Fraction, bar_quarters: Fraction) -> bool:
    """Return whether a group of four bars, each with its pickup, ends between two moments."""
    group = GROUP_BARS * bar_quarters
    return (after + pickup) // group > (start + pickup) // group
