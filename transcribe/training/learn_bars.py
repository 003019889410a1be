"""Learn what speaks for a tempo, a metre and a bar line: ``python -m transcribe.training.learn_bars TUNES.json``.

The tunes of the learning half (``transcribe.training.tunes`` writes TUNES.json) are played by an unsteady hand, half
of them with a drifting tempo, and so are the licks of ``fixtures/licks`` that are not held out; every reading
considered for each becomes a row of facts, and the weights are those under which the right reading is likeliest
(conditional logistic regression: D. McFadden, "Conditional Logit Analysis of Qualitative Choice Behavior",
1974, from memory) with a penalty on large weights. Each is read twice, with the
tempo told and not. The result is written to ``transcribe/rhythm/weights.py``; the same tunes give the same weights.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.note import Note
from transcribe.rhythm import weights as written
from transcribe.rhythm.features import FACTS, METERS, as_places
from transcribe.rhythm.grid import TICKS
from transcribe.rhythm.onsets import moments
from transcribe.rhythm.readings import Told, considered, kind_of
from transcribe.rhythm.rhythm import Meter
from transcribe.rhythm.swing import unswung
from transcribe.settings import RhythmSettings
from transcribe.training.hand import drawn_tempo_bpm, lick_notes, tune_notes
from transcribe.training.tunes import Tune, drawn, read_tunes

Floats = NDArray[np.float64]
TUNES = 1200
PENALTY = 0.01  # a tune and squared weight
DRIFT = 0.04
LENGTHS = (16, 24, 40, 64, 64, 64)  # notes of a tune that are played
PLAYED = 12  # times each lick is played
HELD_OUT_LICKS = ("rope-and-winch", "rain-on-tin", "early-boat", "tin-capstan")
PICKUPS_KEPT = 0.75  # share of tunes played with their pickup: four folk tunes in five have one, few recorded licks do
SAME_TEMPO = 0.04  # share within which two tempos are one
MOST_ASTRAY = 0.1  # share of notes that may stand elsewhere in a right reading
KINDS = 2  # plain and dotted beats


@dataclass(frozen=True, slots=True)
class Choice:
    """The readings of one tune: their facts, which kind of beat each has, and which are right."""

    facts: NDArray[np.float32]  # (readings, FACTS)
    kinds: NDArray[np.int64]
    right: NDArray[np.bool_]


def main() -> None:
    """Learn and write the weights."""
    parser = argparse.ArgumentParser(
        prog="python -m transcribe.training.learn_bars", description=__doc__.split("\n")[0]
    )
    parser.add_argument("tunes", type=Path, metavar="TUNES.json")
    parser.add_argument("--count", type=int, default=TUNES, help=f"tunes learned from; default {TUNES}")
    parser.add_argument("--out", type=Path, default=Path(written.__file__), help="default transcribe/rhythm/weights.py")
    chosen = parser.parse_args()
    tunes = drawn(read_tunes(chosen.tunes), chosen.count, held_out=False)
    choices = [choice for index, tune in enumerate(tunes) for choice in tune_choices(tune, index)]
    choices += lick_choices()
    found = learned(choices)
    chosen.out.write_text(weights_text(found, len(tunes)), encoding="utf-8")
    print(f"{len(choices)} lines with a right reading among those considered")
    print(f"likeliest reading right in {right_share(choices, found):.3f} of them")


def tune_choices(tune: Tune, seed: int) -> list[Choice]:
    """Return the readings of one tune, or of its first notes, played by an unsteady hand."""
    rng = np.random.default_rng(seed)
    tune = tune.part(int(rng.choice(LENGTHS)), pickup=bool(rng.uniform() < PICKUPS_KEPT))
    bpm = drawn_tempo_bpm(tune, rng)
    return line_choices(tune_notes(tune, bpm, rng, drift=DRIFT * (seed % 2)), tune.places, tune.meter, bpm)


def lick_choices() -> list[Choice]:
    """Return the readings of the licks that are not held out, each played several times."""
    from fixtures.licks import LICKS

    found = []
    for name, lick in LICKS.items():
        for seed in range(PLAYED if name not in HELD_OUT_LICKS else 0):
            notes, places = lick_notes(lick, seed)
            found += line_choices(notes, places, lick.meter, lick.tempo_bpm)
    return found


def line_choices(notes: Sequence[Note], places: Sequence[Fraction], meter: Meter, bpm: float) -> list[Choice]:
    """Return the readings with the tempo not told, and told; none where no reading is right."""
    settings = RhythmSettings()
    heard = moments(notes, settings)
    found = []
    for told in (Told(), Told(tempo_bpm=bpm)):
        facts, kinds, right = [], [], []
        for followed, tried, lines, rows in considered(heard, settings, told):
            facts.append(rows)
            kinds += [kind_of(tried)] * lines.size
            fits = tried == meter and abs(60.0 / followed.guess.quarter_s / bpm - 1) < SAME_TEMPO
            right += [fits and astray(followed.ticks, line, places) <= MOST_ASTRAY for line in lines.tolist()]
        if any(right):
            found.append(Choice(np.concatenate(facts).astype(np.float32), np.array(kinds), np.array(right)))
    return found


def astray(ticks: Sequence[int], line: int, places: Sequence[Fraction]) -> float:
    """Return the share of notes that stand elsewhere than they are written, bars counted from ``line``.

    Swung eighths may be read as they are played or as they are written.
    """
    if len(ticks) != len(places):  # two notes taken for one
        return 1.0
    played = as_places([tick - line for tick in ticks])
    misses = [
        np.mean([read != place for read, place in zip(each, places, strict=True)]) for each in (played, unswung(played))
    ]
    return float(min(misses))


def learned(choices: Sequence[Choice]) -> Floats:
    """Return the weights, shape (KINDS, FACTS)."""
    from scipy.optimize import minimize

    facts = np.concatenate([choice.facts for choice in choices])
    scale = np.maximum(facts.std(axis=0), 1e-3)
    kinds = np.concatenate([choice.kinds for choice in choices])
    right = np.concatenate([choice.right for choice in choices])
    starts = np.cumsum([0, *(choice.kinds.size for choice in choices)])[:-1]
    owner = np.repeat(np.arange(len(choices)), [choice.kinds.size for choice in choices])
    facts /= scale.astype(np.float32)

    def loss(flat: Floats) -> tuple[float, Floats]:
        weights = flat.reshape(KINDS, -1)
        nats = np.where(kinds == 0, facts @ weights[0], facts @ weights[1])
        nats -= np.maximum.reduceat(nats, starts)[owner]
        likely = np.exp(nats)
        every, good = np.add.reduceat(likely, starts), np.add.reduceat(likely * right, starts)
        pull = likely / every[owner] - likely * right / np.maximum(good, 1e-300)[owner]
        slope = np.stack([facts.T @ (pull * (kinds == kind)) for kind in range(KINDS)])
        penalty = PENALTY * len(choices) / TICKS
        cost = float(np.log(every).sum() - np.log(np.maximum(good, 1e-300)).sum()) + penalty * float(flat @ flat)
        return cost, slope.ravel() + 2 * penalty * flat

    found = minimize(loss, np.zeros(KINDS * len(FACTS)), jac=True, method="L-BFGS-B", options={"maxiter": 400})
    result: Floats = found.x.reshape(KINDS, -1) / scale
    return result


def right_share(choices: Sequence[Choice], weights: Floats) -> float:
    """Return in how many choices the likeliest reading is right."""
    hits = [choice.right[int(np.argmax((choice.facts * weights[choice.kinds]).sum(axis=1)))] for choice in choices]
    return float(np.mean(hits))


def weights_text(weights: Floats, tunes: int) -> str:
    """Return the module that holds the weights."""
    lines = [
        f'    "{fact}": ({plain:.3f}, {dotted:.3f}),' for fact, (plain, dotted) in zip(FACTS, weights.T, strict=True)
    ]
    return HEADER.format(tunes=tunes, meters=", ".join(METERS)) + "\n".join(lines) + FOOTER


HEADER = '''"""What each fact of a reading counts, in nats: for plain beats, for dotted beats.

Written by ``python -m transcribe.training.learn_bars`` from {tunes} folk tunes in {meters} and our
licks; not to be edited by hand.
"""

from __future__ import annotations

import numpy as np

from transcribe.rhythm.features import FACTS

BY_FACT = {{
'''
FOOTER = """
}
WEIGHTS = np.array([[BY_FACT[fact][kind] for fact in FACTS] for kind in (0, 1)])  # (kinds of beat, FACTS)
"""

if __name__ == "__main__":
    main()
