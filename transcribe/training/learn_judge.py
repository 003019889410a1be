"""Learn which reading of a line is right: ``python -m transcribe.training.learn_judge TUNES.json``.

The tunes of the learning half (``transcribe.training.tunes`` writes TUNES.json) and our licks that are not held out are
played by an unsteady hand; of each line the judge sees the shortlist of ``rhythm.readings`` and learns to put a right
one first (softmax over the shortlist; Adam: D. Kingma and J. Ba, ICLR 2015, from memory; decay of weights apart from
the step: I. Loshchilov and F. Hutter, ICLR 2019, from memory). Several networks from different starts are written to
``transcribe/rhythm/judge_weights.json``. Learn anew whenever ``learn_bars`` was run or a fact changed. ``--check``
learns from two thirds of the titles instead and prints how many lines of the others are read right; the held-out
half is never touched.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from fractions import Fraction
from pathlib import Path

import numpy as np

from transcribe.rhythm import judge
from transcribe.rhythm.features import METERS
from transcribe.training.judge_net import Batch, JudgeNet, batch_of, loss_of
from transcribe.training.judged_lines import (
    SWUNG,
    JudgedLine,
    lick_lines,
    may_swing,
    swung_lines,
    tune_lines,
    tunes_learned_from,
)
from transcribe.training.tunes import Tune, read_tunes

Job = tuple[Tune, Fraction | None, int]  # a tune, how far bar lines may be moved or None to swing it, and a seed
NETWORKS, EPOCHS, LINES_A_STEP = 4, 8, 48
RATE, WARM_STEPS, LEAST_RATE = 2e-3, 100, 1e-5
LEFT_OUT = 0.15  # share of the facts of lines hidden in each step
FOLDS = 3
DIGITS = 4  # kept of each weight


def main() -> None:
    """Learn and write the networks, or check."""
    parser = argparse.ArgumentParser(
        prog="python -m transcribe.training.learn_judge", description=__doc__.split("\n")[0]
    )
    parser.add_argument("tunes", type=Path, metavar="TUNES.json")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="learn from every Nth tune only")
    parser.add_argument("--workers", type=int, default=2, help="processes that make the lines; default 2")
    parser.add_argument("--check", action="store_true", help="learn from two thirds of the titles, measure on the rest")
    parser.add_argument("--out", type=Path, default=Path(judge.__file__).with_name("judge_weights.json"))
    chosen = parser.parse_args()
    lines = list(lines_of(tunes_learned_from(read_tunes(chosen.tunes))[:: chosen.every], chosen.workers))
    lines += lick_lines()
    print(f"{len(lines)} lines", flush=True)
    fair = [line for line in lines if not chosen.check or line.fold(FOLDS)]
    nets = [learned(fair, seed) for seed in range(NETWORKS)]
    if chosen.check:
        report(nets, [line for line in lines if line.fold(FOLDS) == 0])
    else:
        chosen.out.write_text(weights_text(nets), encoding="utf-8")
        report(nets, lines)


def lines_of(tunes: Sequence[tuple[Tune, Fraction]], workers: int) -> Iterator[JudgedLine]:
    """Yield all plays of the tunes, in order."""
    jobs: list[Job] = [(tune, moved, seed) for seed, (tune, moved) in enumerate(tunes)]
    swinging = [tune for tune, moved in tunes if not moved and may_swing(tune)]
    jobs += [(tune, None, seed) for seed, tune in enumerate(swinging[:SWUNG])]
    if workers < 2:
        for job in jobs:
            yield from _plays(job)
        return
    with ProcessPoolExecutor(workers) as pool:
        for found in pool.map(_plays, jobs, chunksize=16):
            yield from found


def _plays(job: Job) -> list[JudgedLine]:
    tune, moved, seed = job
    return list(swung_lines(tune, seed) if moved is None else tune_lines(tune, moved, seed))


def learned(lines: Sequence[JudgedLine], seed: int, *, epochs: int = EPOCHS) -> JudgeNet:
    """Return a network learned from the lines; the same lines and seed give the same one."""
    facts = np.concatenate([line.facts for line in lines[::3]])
    net = JudgeNet(np.maximum(np.sqrt((facts**2).mean(axis=0)), 1e-2), seed)
    rng = np.random.default_rng(seed)
    size = min(LINES_A_STEP, len(lines))
    steps, done = epochs * (len(lines) // size), 0
    for epoch in range(epochs):
        order, costs = rng.permutation(len(lines)), []
        for start in range(0, len(lines) - size + 1, size):
            batch = batch_of([lines[index] for index in order[start : start + size]], net.scale)
            batch.facts[:, rng.uniform(size=batch.facts.shape[1]) < LEFT_OUT] = 0.0
            cost, pull = loss_of(batch, net.nats(batch))
            done += 1
            rate = RATE * min(1.0, done / WARM_STEPS) * (1 - done / steps) + LEAST_RATE
            net.step(net.slopes(batch, pull), rate)
            costs.append(cost)
        print(f"network {seed + 1}, round {epoch + 1} of {epochs}: {np.mean(costs):.3f} nats a line", flush=True)
    return net


def first_right(nets: Sequence[JudgeNet], lines: Sequence[JudgedLine]) -> list[bool]:
    """Return of each line whether the reading with the most nats is a right one."""
    found = []
    for start in range(0, len(lines), LINES_A_STEP):
        some = lines[start : start + LINES_A_STEP]
        nats = np.mean([net.nats(_batch(net, some)) for net in nets], axis=0)
        ends = np.cumsum([line.right.size for line in some])[:-1]
        found += [bool(line.right[each.argmax()]) for line, each in zip(some, np.split(nats, ends), strict=True)]
    return found


def _batch(net: JudgeNet, lines: Sequence[JudgedLine]) -> Batch:
    return batch_of(lines, net.scale)


def report(nets: Sequence[JudgeNet], lines: Sequence[JudgedLine]) -> None:
    """Print how many lines are read right, by kind."""
    hits = first_right(nets, lines)
    kinds = {
        "whole tunes, tempo told": lambda line: line.whole and line.told and not line.is_lick,
        "whole tunes, nothing told": lambda line: line.whole and not line.told and not line.is_lick,
        "openings": lambda line: not line.whole,
        "licks, tempo told": lambda line: line.is_lick and line.told,
        "licks, nothing told": lambda line: line.is_lick and not line.told,
    }
    for words, inside in kinds.items():
        mine = [(hit, line.first_look) for hit, line in zip(hits, lines, strict=True) if inside(line)]
        if mine:
            judged, first = np.mean(mine, axis=0)
            print(f"{words}: {judged:.3f} of {len(mine)}; at the first look {first:.3f}")


def weights_text(nets: Sequence[JudgeNet]) -> str:
    """Return the file of weights."""
    networks = [
        {
            name: [float(f"{value:.{DIGITS}g}") for value in values] if values.ndim == 1 else _table(values)
            for name, values in net.shipped().items()
        }
        for net in nets
    ]
    about = (
        "Written by python -m transcribe.training.learn_judge from folk tunes and our licks; not to be edited by hand."
    )
    return json.dumps({"about": about, "meters": METERS, "networks": networks}, separators=(",", ":")) + "\n"


def _table(values: judge.Singles) -> list[list[float]]:
    return [[float(f"{value:.{DIGITS}g}") for value in row] for row in values]


if __name__ == "__main__":
    main()
