"""The judge of readings while it learns: its weights, how they answer, and the slopes of what that costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.features import METERS
from transcribe.rhythm.judge import ROW, USUAL_MOMENTS, Singles
from transcribe.rhythm.standing import NOTE_ROW
from transcribe.training.judged_lines import JudgedLine

Ints = NDArray[np.int64]

WIDE, NARROW, LAST = 32, 16, 16
DOTTED_FROM = 2  # the first of METERS with dotted beats
# Share of each weight that decays at a step of rate 1; what many lines share decays less than what one metre has alone.
DECAY = {
    "first": 0.04,
    "second": 0.04,
    "by_kind": 0.2,
    "by_meter": 0.6,
    "pooled": 0.1,
    "facts_in": 0.6,
    "pooled_in": 0.1,
    "meter_in": 0.1,
    "out": 0.04,
}
SLOW, SLOWER, TINY = 0.9, 0.999, 1e-8  # Adam's usual values


@dataclass(frozen=True, slots=True)
class Batch:
    """Readings of several lines, one after another; row arrays have one row a note."""

    notes: Singles  # (rows, NOTE_ROW)
    weight: Singles  # (rows,)
    starts: Ints  # first row of each reading
    owner: Ints  # reading of each row
    share: Singles  # of each reading: what its sums over notes are multiplied with
    facts: Singles  # (readings, ROW)
    meters: Ints
    right: Singles
    lines: Ints  # first reading of each line
    line: Ints  # of each reading


def batch_of(lines: Sequence[JudgedLine], scale: Singles) -> Batch:
    """Return lines ready to be judged, facts divided by their ``scale``."""
    readings = [line.meters.size for line in lines]
    size = np.repeat([line.weight.size for line in lines], readings)
    rows = np.concatenate([line.packed for line in lines])
    return Batch(
        notes=np.unpackbits(rows, axis=1, count=NOTE_ROW).astype(np.float32),
        weight=np.concatenate([np.tile(line.weight, count) for line, count in zip(lines, readings, strict=True)]),
        starts=np.cumsum(np.concatenate(([0], size[:-1]))),
        owner=np.repeat(np.arange(size.size), size),
        share=(1 / np.sqrt(USUAL_MOMENTS * size)).astype(np.float32),
        facts=(np.concatenate([line.facts for line in lines]) / scale).astype(np.float32),
        meters=np.concatenate([line.meters for line in lines]),
        right=np.concatenate([line.right for line in lines]).astype(np.float32),
        lines=np.cumsum([0, *readings[:-1]]),
        line=np.repeat(np.arange(len(lines)), readings),
    )


def loss_of(batch: Batch, nats: Singles) -> tuple[float, Singles]:
    """Return what a line costs on average, minus log of the share of its right readings, and its slope in the nats."""
    nats = nats - np.maximum.reduceat(nats, batch.lines)[batch.line]
    likely = np.exp(nats)
    every = np.add.reduceat(likely, batch.lines)
    good = np.maximum(np.add.reduceat(likely * batch.right, batch.lines), 1e-20)
    pull = likely / every[batch.line] - likely * batch.right / good[batch.line]
    return float(np.log(every / good).mean()), (pull / batch.lines.size).astype(np.float32)


class JudgeNet:
    """Weights that learn; ``shipped`` returns them as ``rhythm.judge`` reads them."""

    def __init__(self, scale: Singles, seed: int) -> None:
        rng = np.random.default_rng(seed)
        meters = len(METERS)
        shapes = {
            "first": rng.normal(0, np.sqrt(2 / 30), (NOTE_ROW, WIDE)),
            "first_bias": np.zeros(WIDE),
            "second": rng.normal(0, np.sqrt(2 / WIDE), (WIDE, NARROW)),
            "second_bias": np.zeros(NARROW),
            "by_kind": np.zeros((ROW, 2)),
            "by_meter": np.zeros((ROW, meters)),
            "pooled": rng.normal(0, 0.05, (NARROW, meters)),
            "facts_in": rng.normal(0, 0.3 / np.sqrt(ROW), (ROW, LAST)),
            "pooled_in": rng.normal(0, 0.3, (NARROW, LAST)),
            "meter_in": rng.normal(0, 0.3, (meters, LAST)),
            "out": rng.normal(0, 0.1, LAST),
        }
        self.scale = scale.astype(np.float32)
        self.weights: dict[str, Singles] = {name: values.astype(np.float32) for name, values in shapes.items()}
        self._slow = {name: np.zeros_like(values) for name, values in self.weights.items()}
        self._slower = {name: np.zeros_like(values) for name, values in self.weights.items()}
        self._steps = 0
        self._held: tuple[Singles, ...] = ()

    def nats(self, batch: Batch) -> Singles:
        """Return the nats of every reading; what ``slopes`` needs of the way there is kept."""
        own = self.weights
        wide = np.maximum(batch.notes @ own["first"] + own["first_bias"], 0)
        narrow = np.maximum(wide @ own["second"] + own["second_bias"], 0)
        pooled = np.add.reduceat(narrow * batch.weight[:, None], batch.starts, 0) * batch.share[:, None]
        meter, kind = _one_hot(batch)
        hidden = np.tanh(batch.facts @ own["facts_in"] + pooled @ own["pooled_in"] + meter @ own["meter_in"])
        self._held = (wide, narrow, pooled, hidden)
        by_meter = batch.facts @ own["by_meter"] + pooled @ own["pooled"]
        found: Singles = (
            (by_meter * meter).sum(1) + ((batch.facts @ own["by_kind"]) * kind).sum(1) + hidden @ own["out"]
        )
        return found

    def slopes(self, batch: Batch, pull: Singles) -> dict[str, Singles]:
        """Return the slope of the cost in every weight, after ``nats`` of the same batch."""
        own, (wide, narrow, pooled, hidden) = self.weights, self._held
        meter, kind = (table * pull[:, None] for table in _one_hot(batch))
        inner = pull[:, None] * own["out"] * (1 - hidden * hidden)
        to_pooled = (meter @ own["pooled"].T + inner @ own["pooled_in"].T) * batch.share[:, None]
        to_narrow = to_pooled[batch.owner] * batch.weight[:, None] * (narrow > 0)
        to_wide = (to_narrow @ own["second"].T) * (wide > 0)
        return {
            "first": batch.notes.T @ to_wide,
            "first_bias": to_wide.sum(0),
            "second": wide.T @ to_narrow,
            "second_bias": to_narrow.sum(0),
            "by_kind": batch.facts.T @ kind,
            "by_meter": batch.facts.T @ meter,
            "pooled": pooled.T @ meter,
            "facts_in": batch.facts.T @ inner,
            "pooled_in": pooled.T @ inner,
            "meter_in": _one_hot(batch)[0].T @ inner,
            "out": hidden.T @ pull,
        }

    def step(self, slopes: Mapping[str, Singles], rate: float) -> None:
        """Take one step down the slopes."""
        self._steps += 1
        for name, slope in slopes.items():
            self._slow[name] = SLOW * self._slow[name] + (1 - SLOW) * slope
            self._slower[name] = SLOWER * self._slower[name] + (1 - SLOWER) * slope**2
            size = np.sqrt(self._slower[name] / (1 - SLOWER**self._steps)) + TINY
            way = self._slow[name] / (1 - SLOW**self._steps) / size
            self.weights[name] -= np.float32(rate) * (way + DECAY.get(name, 0.0) * self.weights[name])

    def shipped(self) -> dict[str, Singles]:
        """Return the weights by the names of ``rhythm.judge.Network``: facts no longer to be scaled."""
        own, kinds = self.weights, (np.arange(len(METERS)) >= DOTTED_FROM).astype(np.int64)
        same = ("first", "first_bias", "second", "second_bias", "pooled", "pooled_in", "meter_in", "out")
        facts = (own["by_kind"][:, kinds] + own["by_meter"]) / self.scale[:, None]
        return {name: own[name] for name in same} | {"facts": facts, "facts_in": own["facts_in"] / self.scale[:, None]}


def _one_hot(batch: Batch) -> tuple[Singles, Singles]:
    """Which metre, and which kind of beat, each reading has."""
    meter = np.eye(len(METERS), dtype=np.float32)[batch.meters]
    kind = np.eye(2, dtype=np.float32)[(batch.meters >= DOTTED_FROM).astype(np.int64)]
    return meter, kind
