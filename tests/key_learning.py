"""The weights of the hints at a key, learned from melodies with stated keys: whole, and cut to two to four bars."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from tests.corpus_melodies import Melody
from transcribe.harmony.key_hints import HINTS, hints
from transcribe.harmony.names import fifths_of, pitch_class
from transcribe.harmony.sounding import Sounded, strength
from transcribe.rhythm.rhythm import Meter, Rhythm

WHOLE, OPENING, CLOSE, MIDDLE = "whole tunes", "first bars", "last bars", "bars within"
CUTS = (OPENING, CLOSE, MIDDLE, MIDDLE)
CUT_BARS = (2, 3, 4)
FEWEST_NOTES = 4
SMALL = 1e-4  # how strongly large weights are held down. Tried on the tuning half: 1e-5 to 2e-3
MOST_STEPS = 400


@dataclass(frozen=True)
class Sample:
    """What is heard of a melody or a part of it, and its key."""

    kind: str
    melody: Melody
    line: tuple[Sounded, ...]
    found: np.ndarray  # hints, shape (17, 12)

    @property
    def truth(self) -> int:
        """Index of the stated key among the 24."""
        return pitch_class(fifths_of(self.melody.tonic)) + (12 if self.melody.is_minor else 0)


def samples(melodies: Sequence[Melody]) -> list[Sample]:
    """Each melody whole, and its first, last and two middle stretches of 2, 3 or 4 bars, drawn by its name."""
    return [
        Sample(kind, melody, line, hints(line, melody.bar_quarters))
        for melody in melodies
        for kind, line in _parts(melody)
    ]


def rhythm_of(bar_quarters: Fraction) -> Rhythm:
    """A grid of bars so long; multiples of three eighths count in dotted quarters."""
    if bar_quarters.denominator == 2 or bar_quarters in (3, 6):
        meter = Meter(int(bar_quarters * 2), 8) if bar_quarters != 3 else Meter(3, 4)
    else:
        meter = Meter(max(1, int(bar_quarters)), 4)
    return Rhythm(100.0, meter, 0.0)


def _parts(melody: Melody) -> Iterator[tuple[str, tuple[Sounded, ...]]]:
    bar = melody.bar_quarters
    yield WHOLE, _line(melody, melody.notes)
    bars = int(max(start for start, _, _ in melody.notes) // bar) + 1
    draw = random.Random(melody.name)
    for kind in CUTS:
        length = draw.choice(CUT_BARS)
        if bars <= length:
            continue
        first = {OPENING: 0, CLOSE: bars - length}.get(kind, draw.randrange(bars - length + 1))
        inside = [
            (start - first * bar, lasting, midi)
            for start, lasting, midi in melody.notes
            if first * bar <= start < (first + length) * bar or (first == 0 and start < 0)
        ]
        if len(inside) >= FEWEST_NOTES:
            yield kind, _line(melody, inside)


def _line(melody: Melody, notes: Sequence[tuple[Fraction, Fraction, int]]) -> tuple[Sounded, ...]:
    rhythm = rhythm_of(melody.bar_quarters)
    return tuple(
        Sounded(f"n{index}", midi, midi, start, length, start + length, strength(start, rhythm))
        for index, (start, length, midi) in enumerate(notes)
    )


def learn(told: Sequence[Sample]) -> tuple[np.ndarray, float]:
    """Weights that make the stated keys likeliest, shape (2, 17, 12), and that of minor: logistic regression.

    Every sample is turned to a tonic of C, so that the weights belong to degrees. Minor tunes are rare in the corpus
    and common on a guitar: both kinds count alike.
    """
    from scipy.optimize import minimize

    tonics = np.array([one.truth % 12 for one in told])
    at_c = np.array([np.roll(one.found, -tonic, axis=1) for one, tonic in zip(told, tonics, strict=True)])
    right = np.array([one.truth // 12 * 12 for one in told])
    is_minor = right == 12
    count = np.where(is_minor, 0.5 / is_minor.mean(), 0.5 / (~is_minor).mean()) / len(told)
    turned = np.array([np.roll(at_c, -key, axis=2).reshape(len(told), -1) for key in range(12)])
    rows = np.arange(len(told))

    def cost(packed: np.ndarray) -> tuple[float, np.ndarray]:
        by_mode = packed[:-1].reshape(2, -1)
        sums = np.concatenate([turned @ by_mode[0], turned @ by_mode[1] + packed[-1]]).T
        sums -= sums.max(axis=1, keepdims=True)
        belief = np.exp(sums)
        belief /= belief.sum(axis=1, keepdims=True)
        lost = -(count * np.log(belief[rows, right])).sum()
        belief[rows, right] -= 1.0
        wrong = belief * count[:, None]
        slope = [np.einsum("tnf,nt->f", turned, wrong[:, part]) for part in (slice(12), slice(12, 24))]
        slopes = np.array([*slope[0], *slope[1], wrong[:, 12:].sum()])
        return lost + SMALL * packed @ packed / 2, slopes + SMALL * packed

    start = np.zeros(2 * len(HINTS) * 12 + 1)
    packed = minimize(cost, start, jac=True, method="L-BFGS-B", options={"maxiter": MOST_STEPS}).x
    return packed[:-1].reshape(2, len(HINTS), 12), float(packed[-1])


def as_module(weights: np.ndarray, minor: float, count: int) -> str:
    """The text of ``transcribe/harmony/key_weights.py``."""
    rows = "".join(
        f'    "{name}": (\n'
        + "".join(f"        ({', '.join(f'{weight:.2f}' for weight in weights[mode][at])}),\n" for mode in (0, 1))
        + "    ),\n"
        for at, name in enumerate(HINTS)
    )
    return (
        '"""What each hint at a key counts by degree, in nats: semitones from the tonic up, in major and in minor.\n\n'
        f"Written by ``python -m tests.benchmark_harmony --fit FILE`` from {count} folk melodies, whole and cut to\n"
        'two to four bars; not to be edited by hand.\n"""\n\nfrom __future__ import annotations\n\n'
        f"BY_HINT: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {{\n{rows}}}\n"
        f"MINOR = {minor:.2f}  # for every minor key\n"
    )
