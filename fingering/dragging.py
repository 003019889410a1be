"""Bends and what rings: a pushed string takes its neighbours along, so they cannot ring on as they were."""

from __future__ import annotations

import numpy as np

from fingering.base import Base
from fingering.bending import push_for, strings_swept
from fingering.fretboard import Fretboard
from fingering.hand import HAND
from fingering.moments import Moment
from fingering.passage import Pluck


def spoiled(
    moment: Moment, plucks: tuple[Pluck, ...], base: Base, incoming: np.ndarray, fretboard: Fretboard
) -> np.ndarray:
    """Return (q, rows, held): which held notes a bend spoils, for each way they came and each new grip.

    A new bend goes the way that drags fewest; the notes on that way are spoiled. A held bend is spoiled itself when
    every way drags a new note or another held one.
    """
    bad = np.zeros((len(incoming), len(base.position), len(moment.held)), dtype=bool)
    bent = [plucks[index].bend_semitones for index in (*moment.new, *moment.held)]
    if not any(bent):
        return bad
    new_bends, held_bends = bent[: len(moment.new)], bent[len(moment.new) :]
    still = [column for column, semitones in enumerate(new_bends) if semitones <= 0]
    new_strings = base.string[:, still]
    held_strings = np.where(np.array(held_bends)[None, :] > 0, 0, incoming[:, :, 0])  # (q, held), 0 where bent
    for column, semitones in enumerate(new_bends):
        if semitones > 0:
            for string, fret, rows in _places(base.string[:, column], base.fret[:, column]):
                ways = _ways(string, fret, semitones, fretboard)
                hits = np.stack([np.isin(held_strings, way) for way in ways])  # (ways, q, held)
                blocked = np.stack([np.isin(new_strings[rows], way).any(axis=1) for way in ways])  # (ways, rows)
                dear = hits.sum(axis=2)[:, :, None] + 100 * blocked[:, None, :]
                goes = np.argmin(dear, axis=0)  # (q, rows)
                hit = np.take_along_axis(hits.transpose(1, 0, 2), goes[:, :, None], axis=1)
                bad[:, rows] = np.logical_or(bad[:, rows], hit)
    for column, semitones in enumerate(held_bends):
        if semitones > 0:
            others = np.delete(held_strings, column, axis=1)
            for string, fret, came in _places(incoming[:, column, 0], incoming[:, column, 1]):
                ways = _ways(string, fret, semitones, fretboard)
                stopped = [
                    np.logical_or.outer(np.isin(others[came], way).any(axis=1), np.isin(new_strings, way).any(axis=1))
                    for way in ways
                ]
                bad[came, :, column] |= np.all(stopped, axis=0)
    return bad


def _places(strings: np.ndarray, frets: np.ndarray) -> list[tuple[int, int, np.ndarray]]:
    """Return each fretted place that occurs, and the rows where it does."""
    pairs = sorted({*zip(strings.tolist(), frets.tolist(), strict=True)})
    return [
        (string, fret, np.nonzero((strings == string) & (frets == fret))[0])
        for string, fret in pairs
        if string > 0 and fret > 0
    ]


def _ways(string: int, fret: int, semitones: float, fretboard: Fretboard) -> tuple[tuple[int, ...], ...]:
    push_mm, _ = push_for(string, fret + fretboard.capo, semitones, fretboard.scale_length_mm)
    return strings_swept(string, len(fretboard.open_midi), push_mm, HAND.string_spacing_mm)
