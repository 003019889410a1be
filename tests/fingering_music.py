"""Passages for tests: lines, chords, random but possible music."""

from __future__ import annotations

from hypothesis import strategies as st

from fingering import Passage, Pluck


def line(*midis: int, seconds: float = 0.25, **alike) -> Passage:
    """One note after another."""
    return Passage(tuple(Pluck(f"n{i}", i * seconds, (i + 1) * seconds, midi, **alike) for i, midi in enumerate(midis)))


def chord(*midis: int, seconds: float = 1.0) -> Passage:
    """Notes that start together, ids c0, c1 ... in the order given."""
    return Passage(tuple(Pluck(f"c{i}", 0.0, seconds, midi) for i, midi in enumerate(midis)))


def spots(fingering) -> list[tuple[int, int]]:
    """String and fret of every note."""
    return [(placement.string, placement.fret) for placement in fingering.placements]


@st.composite
def passages(draw, low: int = 40, high: int = 80, most: int = 7, joins: bool = True, chords: bool = True):
    """Short passages with rings, chords, joins and bends."""
    plucks, onset = [], 0.0
    for _ in range(draw(st.integers(1, most))):
        together = draw(st.integers(1, 3)) if chords else 1
        midis = draw(st.lists(st.integers(low, high), min_size=together, max_size=together, unique=True))
        rings = draw(st.sampled_from([0.2, 0.25, 0.5, 0.9])) if chords else 0.25
        for midi in sorted(midis, reverse=True):
            extra = {}
            single = together == 1 and plucks and plucks[-1].onset_s < onset - 0.1
            if joins and single and plucks[-1].midi != midi and plucks[-1].bend_semitones == 0:
                kind = draw(st.sampled_from(["none", "none", "none", "slide", "hammer-on", "pull-off"]))
                rises = midi > plucks[-1].midi
                if kind == "slide" or (kind == "hammer-on" and rises) or (kind == "pull-off" and not rises):
                    extra = {"join": kind, "joined_to": plucks[-1].id}
            if joins and not extra and draw(st.integers(0, 9)) == 0:
                extra = {"bend_semitones": float(draw(st.sampled_from([0.5, 1, 2])))}
            plucks.append(Pluck(f"n{len(plucks)}", onset, onset + rings, midi, **extra))
        onset += 0.25
    return Passage(tuple(plucks))
