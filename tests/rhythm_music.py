"""Lines of known written rhythm, played by a clock with a hand's unsteadiness."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from transcribe.notes.note import Attack, Note


@dataclass(frozen=True)
class Played:
    """Notes with the place (quarters from the first note) and length each was written with."""

    notes: tuple[Note, ...]
    places: tuple[Fraction, ...]
    values: tuple[Fraction, ...]


def played(
    written: str,
    bpm: float,
    *,
    jitter_s: float = 0.0,
    seed: int = 0,
    start_s: float = 1.0,
    share: float = 0.92,
    attack: Attack = "picked",
    midis: Sequence[int] = (57, 60, 62, 64, 67),
    clock: Callable[[float], float] | None = None,
) -> Played:
    """Play lengths in quarters, as in ``"1 1/2 1/2 r1"`` (r: a rest); each note sounds for ``share`` of its length.

    ``jitter_s`` is one standard deviation of every onset. ``clock`` turns quarters into seconds, for a tempo that is
    not steady.
    """
    rng = np.random.default_rng(seed)
    time_s = clock or (lambda quarters: quarters * 60.0 / bpm)
    notes, places, values = [], [], []
    at = Fraction(0)
    for word in written.split():
        length = Fraction(word.removeprefix("r"))
        if not word.startswith("r"):
            onset_s = start_s + time_s(float(at)) + float(rng.normal(0.0, jitter_s)) * (jitter_s > 0)
            offset_s = start_s + time_s(float(at + length * Fraction(share)))
            number = len(notes)
            notes.append(
                Note(
                    f"n{number + 1}",
                    onset_s,
                    max(offset_s, onset_s + 0.03),
                    midis[number % len(midis)],
                    attack="picked" if number == 0 else attack,
                )
            )
            places.append(at)
            values.append(length)
        at += length
    return Played(tuple(notes), tuple(places), tuple(values))
