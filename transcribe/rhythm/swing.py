"""Swung eighths: told from how the beats are divided, and written as plain eighths."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from transcribe.rhythm.rhythm import Feel

LATE = Fraction(2, 3)  # where the second of two swung eighths is played
PLAIN = Fraction(1, 2)  # and where it is written
FEWEST_BEATS = 3  # two long-short beats may be plain triplets
SHARE = 0.75  # of the divided beats
LIGHT_SHARE = 1 / 3  # of the beats divided in two: light swing, 57 to 62 %, is heard now as even, now as long-short


def heard_feel(places: Sequence[Fraction], pulse: Fraction) -> Feel:
    """Return ``swing`` when nearly every divided beat is played long-short, else ``straight``.

    ``places`` are in quarters and as played. Only beats of a quarter note swing. Where many beats are long-short and
    nearly all others even halves, the swing is a light one.

    >>> third = Fraction(1, 3)
    >>> heard_feel([0 * third, 2 * third, 3 * third, 5 * third, 6 * third, 8 * third], Fraction(1))
    'swing'
    """
    if pulse != 1:
        return "straight"
    divisions = [inside for inside in _by_beat(places).values() if inside - {Fraction(0)}]
    swung = sum(1 for inside in divisions if inside - {Fraction(0)} == {LATE})
    even = sum(1 for inside in divisions if inside - {Fraction(0)} == {PLAIN})
    light = swung >= LIGHT_SHARE * (swung + even) and swung + even >= SHARE * len(divisions)
    return "swing" if swung >= FEWEST_BEATS and (light or swung >= SHARE * len(divisions)) else "straight"


def unswung(places: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """Return the places to write for places played with swing: a late second half goes to the middle of its beat.

    Beats with a note on the first third are triplets and stay so.
    """
    by_beat = _by_beat(places)
    return tuple(
        place // 1 + PLAIN if place % 1 == LATE and by_beat[place // 1] <= {Fraction(0), LATE} else place
        for place in places
    )


def _by_beat(places: Sequence[Fraction]) -> dict[int, set[Fraction]]:
    found: dict[int, set[Fraction]] = {}
    for place in places:
        found.setdefault(place // 1, set()).add(place % 1)
    return found
