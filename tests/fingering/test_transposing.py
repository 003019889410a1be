"""A passage one fret higher is played one fret higher, as long as nut, capo and end of the neck are far.

Reach is measured in millimetres, and each fret is narrower than the one before by the twelfth root of two. So the hand
finds fret 6 of a neck exactly as it finds fret 5 of a neck shorter by that ratio: there the answer must be the same to
the finger. On one and the same neck a higher fret is narrower: there the answer moved up must never cost more.
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fingering import Fretboard, Passage, solve
from fingering.cost import LEAD_LINE
from fingering.needs import Limits
from tests.fingering_music import line

ANYWHERE = replace(LEAD_LINE, likes_frets=(0, 99, 99))  # no part of the neck is liked more than another
NECK = Fretboard(frets=24)
LONGER = replace(NECK, scale_length_mm=NECK.scale_length_mm * 2 ** (1 / 12))


def between(frets: tuple[int, int], passage: Passage) -> dict[str, Limits]:
    """The same stretch of the neck for every note."""
    return {pluck.id: Limits(frets=frets, positions=frets) for pluck in passage.plucks}


def transposed(passage: Passage, semitones: int) -> Passage:
    return Passage(tuple(replace(pluck, midi=pluck.midi + semitones) for pluck in passage.plucks))


def double_stops(*pairs: tuple[int, int]) -> Passage:
    """Pairs of notes (high, low), each pair struck together and stopped before the next."""
    struck = [
        replace(line(midi).plucks[0], id=f"n{at}{voice}", onset_s=at * 0.5, end_s=at * 0.5 + 0.5)
        for at, pair in enumerate(pairs)
        for voice, midi in enumerate(pair)
    ]
    return Passage(tuple(struck))


def check(passage: Passage) -> None:
    low = solve(passage, NECK, profile=ANYWHERE, limits=between((4, 10), passage))
    higher = transposed(passage, 1)
    high = solve(higher, LONGER, profile=ANYWHERE, limits=between((5, 11), higher))
    assert high.cost == pytest.approx(low.cost, abs=1e-4)
    moved = [(p.string, p.fret + 1, p.finger) for p in low.placements]
    if moved != [(p.string, p.fret, p.finger) for p in high.placements]:  # allowed only for two that cost the same
        held = zip(higher.plucks, moved, strict=True)
        locked = Passage(tuple(replace(p, locked_string=s, locked_fret=f, locked_finger=g) for p, (s, f, g) in held))
        same = solve(locked, LONGER, profile=ANYWHERE, limits=between((5, 11), higher))
        assert same.cost == pytest.approx(high.cost, abs=1e-4)
    assert solve(higher, NECK, profile=ANYWHERE, limits=between((5, 11), higher)).cost <= low.cost + 1e-4


@settings(deadline=None)
@given(st.lists(st.integers(52, 74), min_size=2, max_size=8))
def test_a_line_moves_by_one_fret(midis):
    check(line(*midis))


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(52, 70), st.sampled_from([3, 4, 5, 7, 8, 9])), min_size=1, max_size=5))
def test_double_stops_move_by_one_fret(pairs):
    check(double_stops(*((low + step, low) for low, step in pairs)))
