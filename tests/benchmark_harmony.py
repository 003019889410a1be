"""How well the key of a melody is found: ``python -m tests.benchmark_harmony`` (extra ``benchmark``).

Melodies with stated keys from the corpus of music21 (``tests/corpus_melodies.py``). The tonic and the third above it
must both be right: a dorian tune counts as minor, a mixolydian one as major, since a take document knows these two;
modal tunes are also told apart. The Essen collection states no mode: there the tonic alone counts. Half of the tunes
(by hash of the name) served for tuning the weights (``--fit``), the figures that count are of the other half. Nothing
but pitch, length, place and bar length is told; keys are those the editors wrote.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np

from tests.corpus_melodies import Melody, read_melodies, write_melodies
from transcribe.harmony.key_finding import hints, named, shares
from transcribe.harmony.names import fifths_of, pitch_class
from transcribe.harmony.sounding import Sounded, strength
from transcribe.rhythm.rhythm import Meter, Rhythm
from transcribe.settings import HarmonySettings

MODAL = ("dorian", "mixolydian", "phrygian", "lydian", "aeolian")
OPENING_BARS = 4
FITTED_BARS = (None, None, OPENING_BARS)
RELIABILITY_STEPS = 5
FIT_STEPS = 1500


def line_of(melody: Melody, bars: int | None = None) -> tuple[Sounded, ...]:
    """The melody, or its first bars, as harmony hears a line."""
    rhythm = rhythm_of(melody.bar_quarters)
    end = None if bars is None else bars * melody.bar_quarters
    return tuple(
        Sounded(f"n{index}", midi, midi, start, length, start + length, strength(start, rhythm))
        for index, (start, length, midi) in enumerate(melody.notes)
        if end is None or start < end
    )


def rhythm_of(bar_quarters: Fraction) -> Rhythm:
    """A grid of bars so long; multiples of three eighths count in dotted quarters."""
    if bar_quarters.denominator == 2 or bar_quarters in (3, 6):
        meter = Meter(int(bar_quarters * 2), 8) if bar_quarters != 3 else Meter(3, 4)
    else:
        meter = Meter(max(1, int(bar_quarters)), 4)
    return Rhythm(100.0, meter, 0.0)


def truth_of(melody: Melody) -> int:
    """Index of the stated key among the 24."""
    return pitch_class(fifths_of(melody.tonic)) + (12 if melody.is_minor else 0)


def fit(melodies: Sequence[Melody]) -> tuple[float, ...]:
    """Weights that make the stated keys likeliest: softmax regression, mildly kept small.

    Whole tunes, and their openings at half their weight: a lick may end as a tune does, or in the middle of
    things. The corpus has no curls; their weight stays as it is.
    """
    told = [*melodies] * len(FITTED_BARS)
    lengths = [bars for bars in FITTED_BARS for _ in melodies]
    found = np.array([hints(line_of(m, bars), m.bar_quarters) for m, bars in zip(told, lengths, strict=True)])[..., :-1]
    right = np.zeros((len(told), 24))  # the stated key, or both keys on the tonic where no mode is stated
    for index, melody in enumerate(told):
        right[index, [truth_of(melody)] if melody.mode else [truth_of(melody), truth_of(melody) + 12]] = 1.0
    # minor tunes are rare in the corpus and common on a guitar: both kinds count alike
    minor, major = (np.array([m.mode != "" and m.is_minor == kind for m in told]) for kind in (True, False))
    count = np.where(minor, 0.5 / minor.mean(), np.where(major, 0.5 / major.mean(), 1.0))
    weights = np.zeros(found.shape[2])
    for _ in range(FIT_STEPS):
        sums = found @ weights
        belief = np.exp(sums - sums.max(axis=1, keepdims=True))
        belief /= belief.sum(axis=1, keepdims=True)
        wanted = belief * right
        wanted /= wanted.sum(axis=1, keepdims=True)
        slope = (count[:, None] * np.einsum("nk,nkf->nf", wanted - belief, found)).mean(axis=0) - 0.001 * weights
        weights += slope
    return (*(round(float(weight), 2) for weight in weights), HarmonySettings().key_weights[-1])


def share_right(melodies: Sequence[Melody], bars: int | None, settings: HarmonySettings) -> tuple[float, list]:
    """Share of the keys found, and (confidence, right) of each."""
    told = []
    for melody in melodies:
        belief = shares(hints(line_of(melody, bars), melody.bar_quarters), settings)
        best = int(belief.argmax())
        right = best == truth_of(melody) if melody.mode else best % 12 == pitch_class(fifths_of(melody.tonic))
        told.append((float(belief[best]), right))
    return sum(right for _, right in told) / max(len(told), 1), told


def groups(melodies: Sequence[Melody]) -> dict[str, list[Melody]]:
    """The melodies by how their key is stated."""
    return {
        "major and minor": [m for m in melodies if m.mode in ("major", "minor")],
        "  major": [m for m in melodies if m.mode == "major"],
        "  minor": [m for m in melodies if m.mode == "minor"],
        "modal": [m for m in melodies if m.mode in MODAL],
        "all with a stated mode": [m for m in melodies if m.mode],
        "Essen, tonic alone": [m for m in melodies if not m.mode],
    }


def _print_wrong(melodies: Sequence[Melody], settings: HarmonySettings) -> None:
    for melody in melodies:
        best = int(shares(hints(line_of(melody), melody.bar_quarters), settings).argmax())
        if best != truth_of(melody):
            print(f"  {melody.name}: {melody.tonic} {melody.mode} read as {' '.join(named(best))}")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--melodies", type=Path, help="file to keep the melodies in; made when it is not there")
    parser.add_argument("--fit", action="store_true", help="print weights fitted to the tuning half")
    parser.add_argument("--wrong", action="store_true", help="list the tunes of the tuning half whose key is missed")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = arguments.melodies or Path(folder) / "melodies.json"
        if not path.exists():
            write_melodies(path)
        melodies = read_melodies(path)
    halves = {"tuning": [m for m in melodies if not m.held_out], "held out": [m for m in melodies if m.held_out]}
    settings = HarmonySettings()
    if arguments.fit:
        settings = HarmonySettings(key_weights=fit(halves["tuning"]))
        print("weights fitted to the tuning half:", settings.key_weights)
    print(f"{'key right':28}" + "".join(f"{half:>12}{'(tunes)':>9}" for half in halves))
    for bars in (None, OPENING_BARS):
        print("whole tunes" if bars is None else f"the first {bars} bars alone")
        for name in groups([]):
            cells = []
            for half in halves.values():
                mine = groups(half)[name]
                cells.append(f"{share_right(mine, bars, settings)[0]:12.3f}{len(mine):9}")
            print(f"  {name:26}" + "".join(cells))
    told = share_right([m for m in halves["held out"] if m.mode], None, settings)[1]
    print("held out, whole tunes: confidence told and share right")
    ranked = sorted(told)
    for part in np.array_split(np.array(ranked, dtype=float), RELIABILITY_STEPS):
        print(f"  {part[0, 0]:.2f} to {part[-1, 0]:.2f}: told {part[:, 0].mean():.2f}, right {part[:, 1].mean():.2f}")
    if arguments.wrong:
        _print_wrong([m for m in halves["tuning"] if m.mode], settings)
    began = time.perf_counter()
    for melody in melodies[:200]:
        shares(hints(line_of(melody), melody.bar_quarters), settings)
    print(f"time: {(time.perf_counter() - began) / 200 * 1000:.2f} ms a tune")


if __name__ == "__main__":
    main()
