"""A small learned judge: of the likeliest ways to lay bars over a line, which one a reader would choose.

Each note of a reading (``standing.note_rows``) goes through two layers, what comes out is added up over the line and
joined to facts of the whole line; one more layer gives the nats (deep sets: M. Zaheer et al., "Deep Sets", NeurIPS
2017, from memory). Several networks learned from different starts are averaged. ``transcribe.training.learn_judge``
learned them; the numbers lie in ``judge_weights.json``.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from transcribe.rhythm.features import FACTS, METERS
from transcribe.rhythm.line_facts import LINE_FACTS, line_facts
from transcribe.rhythm.onsets import Moment
from transcribe.rhythm.rhythm import Meter
from transcribe.rhythm.standing import NOTE_ROW, Standing, note_rows

Singles = NDArray[np.float32]

SHORTLIST = 16  # readings judged
FEWEST_MOMENTS = 3
USUAL_MOMENTS = 40.0  # evidence grows with the root of the number of notes: notes of a line are alike
ROW = len(FACTS) + len(LINE_FACTS) + NOTE_ROW


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the judge sees of one reading."""

    notes: NDArray[np.uint8]  # (moments, NOTE_ROW)
    facts: Singles  # (ROW,)


@dataclass(frozen=True, slots=True)
class Network:
    """Weights; METERS have columns of their own where the last axis says so."""

    first: Singles  # (NOTE_ROW, wide)
    first_bias: Singles
    second: Singles  # (wide, narrow)
    second_bias: Singles
    facts: Singles  # (ROW, METERS)
    pooled: Singles  # (narrow, METERS)
    facts_in: Singles  # (ROW, last)
    pooled_in: Singles  # (narrow, last)
    meter_in: Singles  # (METERS, last)
    out: Singles  # (last,)

    def nats(
        self, notes: Sequence[NDArray[np.uint8]], weight: Singles, facts: Singles, meters: Sequence[int]
    ) -> Singles:
        """Return the nats of each reading of one line; ``facts`` are ``centred``."""
        share = weight / np.sqrt(USUAL_MOMENTS * weight.size)
        pooled = np.stack([share @ self._note_layer(each) for each in notes])
        own = np.arange(len(meters)), np.array(meters)
        hidden = np.tanh(facts @ self.facts_in + pooled @ self.pooled_in + self.meter_in[own[1]])
        found: Singles = (facts @ self.facts + pooled @ self.pooled)[own] + hidden @ self.out
        return found

    def _note_layer(self, notes: NDArray[np.uint8]) -> Singles:
        wide = np.maximum(notes.astype(np.float32) @ self.first + self.first_bias, 0.0)
        found: Singles = np.maximum(wide @ self.second + self.second_bias, 0.0)
        return found


def sheet_of(
    heard: Sequence[Moment], ticks: Sequence[int], meter: Meter, facts: NDArray[np.float64], quarter_s: float
) -> Sheet:
    """Return what is seen of one reading: ``ticks`` from bar 1, and its FACTS."""
    line = Standing(np.array(ticks), np.array([moment.notes[0].midi for moment in heard]), meter)
    notes = note_rows(line)
    weight = np.array([moment.weight for moment in heard])
    of_line = line_facts(line, (heard[-1].end_s - heard[-1].onset_s) / quarter_s)
    return Sheet(notes, np.concatenate([facts, of_line, weight @ notes]).astype(np.float32))


def centred(sheets: Sequence[Sheet]) -> Singles:
    """Return the facts of readings of one line as they differ from their mean, weighed by the length of the line."""
    facts = np.stack([sheet.facts for sheet in sheets])
    found: Singles = (facts - facts.mean(axis=0)) * np.float32(np.sqrt(USUAL_MOMENTS / len(sheets[0].notes)))
    return found


def judged(heard: Sequence[Moment], sheets: Sequence[Sheet], meters: Sequence[Meter]) -> NDArray[np.float64]:
    """Return the nats of readings of one line, all in METERS, but for a constant."""
    weight = np.array([moment.weight for moment in heard], np.float32)
    columns = [METERS.index(str(meter)) for meter in meters]
    facts, notes = centred(sheets), [sheet.notes for sheet in sheets]
    return np.mean([network.nats(notes, weight, facts, columns) for network in networks()], axis=0, dtype=np.float64)


@cache
def networks() -> tuple[Network, ...]:
    """Return the networks shipped."""
    told = json.loads((files("transcribe.rhythm") / "judge_weights.json").read_text(encoding="utf-8"))
    return tuple(
        Network(**{name: np.array(values, np.float32) for name, values in each.items()}) for each in told["networks"]
    )
