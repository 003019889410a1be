"""Learn the weights of ``transcribe/notes/touch.py``: ``python -m tests.touch_learning --bank DIR [--soundfont FILE]``.

Starts of notes that a finger could have begun, from the licks and guitars that numbers are chosen on
(``tests/voice_material.py``) and from the takes of fixtures/ that are not held out, each of these counted four times.
Logistic regression by Newton's method; prints the weights and what they do on the held-out takes.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fixtures.render import HERE
from tests.benchmark import HELD_OUT_GUITARS, HELD_OUT_LICKS
from tests.voice_material import bank_of, maps_of, takes
from transcribe.audio.condition import condition
from transcribe.audio.read import read_recording
from transcribe.audio.recording import Recording
from transcribe.document.read import read_document
from transcribe.evidence.network import voice_maps
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.attack import envelope
from transcribe.notes.note import Note
from transcribe.notes.touch import TOGETHER_S, may_pass_on, touch_features, touch_maps
from transcribe.settings import Settings

Floats = NDArray[np.float64]
OWN_WEIGHT = 4.0
LATE_S = 0.007  # an onset is heard so near, one standard deviation
STIFFNESS = 1e-2


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.touch_learning", description=__doc__.split("\n")[0])
    parser.add_argument("--bank", type=Path, action="append", default=[], metavar="DIR", help="recorded notes")
    parser.add_argument("--soundfont", type=Path, metavar="FILE", help="a General MIDI soundfont: more guitars")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep sounds and maps here")
    chosen = parser.parse_args()
    rng = np.random.default_rng(0)
    bank = bank_of(tuple(chosen.bank), chosen.soundfont, cache=chosen.cache)
    played = [
        row
        for take in takes("choosing", bank, cache=chosen.cache)
        for row in starts(take.recording, maps_of(take, cache=chosen.cache), take.notes, rng)
    ]
    own, held_out = _fixtures(rng)
    rows = np.array([*played, *own])
    weights = fitted(rows[:, 1:], rows[:, 0], np.concatenate([np.ones(len(played)), np.full(len(own), OWN_WEIGHT)]))
    print("PICKED, LEGATO, RISE, KEPT, TOGETHER, BIAS =", *(f"{weight:.2f}," for weight in weights))
    for name, some in (("played on banks", played), ("own takes", own), ("own takes, held out", held_out)):
        table = np.array(some)
        told, true = table[:, 1:] @ weights[:-1] + weights[-1] > 0, table[:, 0] > 0
        f = 2 * (told & true).sum() / max(1, told.sum() + true.sum())
        print(f"{name:22} F {f:.3f}, {true.sum()} of {true.size} begun by a finger")


def starts(
    recording: Recording, maps: VoiceMaps, notes: Iterable[Note], rng: np.random.Generator
) -> Iterator[list[float]]:
    """Yield, for each note that a finger could have begun, whether it did, and the features of its start."""
    every, loudness, touch = list(notes), envelope(recording), touch_maps(maps)
    for note in every:
        begins = note.midi + (
            note.bends[0].reached_cents / 100 if note.bends and note.bends[0].kind == "pre-bend" else 0
        )
        earlier = [other for other in every if other.onset_s < note.onset_s - TOGETHER_S]
        if not any(may_pass_on(_end(other), other.offset_s, begins, note.onset_s) for other in earlier):
            continue
        together = any(other is not note and abs(other.onset_s - note.onset_s) <= TOGETHER_S for other in every)
        at_s = note.onset_s + float(rng.normal(0, LATE_S))
        yield [float(note.attack != "picked"), *touch_features(touch, loudness, at_s, begins, together=together)]


def fitted(features: Floats, true: Floats, counts: Floats) -> Floats:
    """Return logistic weights, the bias last, shape (n_features + 1,)."""
    table = np.concatenate([features, np.ones((len(features), 1))], axis=1)
    weights = np.zeros(table.shape[1])
    for _ in range(60):
        told = 1 / (1 + np.exp(-(table @ weights)))
        slope = table.T @ (counts * (told - true)) + STIFFNESS * weights
        bend = (table * (counts * told * (1 - told))[:, None]).T @ table + STIFFNESS * np.eye(weights.size)
        weights -= np.linalg.solve(bend, slope)
    return weights


def _fixtures(rng: np.random.Generator) -> tuple[list[list[float]], list[list[float]]]:
    """Rows of our own takes: those to learn from, those held out."""
    settings = Settings()
    learned: list[list[float]] = []
    held_out: list[list[float]] = []
    for path in sorted((HERE / "takes").glob("*.flac")):
        lick, _, guitar = path.stem.partition(".")
        notes = [take.note for take in read_document(HERE / "reference" / f"{path.stem}.take.json").notes]
        heard = condition(read_recording(path, settings=settings.audio), settings.audio, accept_clipping=True)
        rows = starts(heard.recording, voice_maps(heard.recording), [n for n in notes if n.mute != "dead"], rng)
        (held_out if guitar in HELD_OUT_GUITARS or lick in HELD_OUT_LICKS else learned).extend(rows)
    return learned, held_out


def _end(note: Note) -> float:
    return note.midi + (note.bends[-1].reached_cents / 100 if note.bends else 0.0)


if __name__ == "__main__":
    main()
