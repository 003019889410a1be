"""Learn which onset peaks are notes, and which legato: python -m transcribe.training.learn_begins --bank bank.npz

Random passages are played on the guitars of training, half of them on the string model, in random scenes, as for the
network itself; every peak of its onset maps is a note or none. Two small networks (one layer of tanh each) learn to
tell them apart by the features of ``notes/begins.py``; every eighth clip is kept back to choose how long they learn. It
is the network's own mistakes that are learned: learn anew after new weights.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.errors import TakesheetError
from transcribe.evidence.network import voice_maps
from transcribe.notes.begins import Begin, begin_features, possible_begins
from transcribe.notes.echoes import delay_s
from transcribe.settings import NoteSettings
from transcribe.training.harmonic_zones import with_harmonics
from transcribe.training.note_bank import PALM_GUITAR, RATE_HZ, Bank, read_bank
from transcribe.training.rehearsal import Players, batch_of, guitars_of, hearing
from transcribe.training.sheet import EVENT_FIELDS
from transcribe.training.strokes import TICK

Floats = NDArray[np.float64]

SEED = 2_000_003  # training counts its seeds from 1, evaluation has its own
CLIPS_AT_ONCE = 8
NEAR_S, NEAR_SEMITONES = 0.05, 0.7  # of a played note, a peak is that note
NONE, PICKED, LEGATO = 0, 1, 2
LEGATO_FIELD = EVENT_FIELDS.index("legato")
HIDDEN = 48
ROUNDS, STEP, DECAY, BATCH = 300, 2e-3, 1e-3, 256
KEPT_BACK = 8  # every eighth clip


def examples(bank: Bank, *, clips: int, weights: bytes | None) -> Iterator[tuple[Floats, Floats, int]]:
    """Yield for each made clip the features of its peaks, what each is, and how many notes showed no peak.

    A peak is NONE, PICKED or LEGATO.
    """
    guitars = guitars_of(bank, held_out=False)
    players = Players(bank.zones((*guitars, PALM_GUITAR)), guitars)
    hear = hearing(bank.samples, modal_clips=CLIPS_AT_ONCE // 2, with_sound=True)
    for number in range(clips // CLIPS_AT_ONCE):
        batch = batch_of(players, SEED, number, clips=CLIPS_AT_ONCE, modal_clips=CLIPS_AT_ONCE // 2)
        sound = np.asarray(hear(batch)[2])
        for k in range(CLIPS_AT_ONCE):
            recording = Recording(sound[k], RATE_HZ)
            maps = voice_maps(recording, weights=weights)
            found = possible_begins(maps)
            played = [event for event in batch["events"][k] if event[0] >= 0]
            truth = notes_among(found, played, lowest_midi=maps.lowest_midi, hop_s=maps.hop_s)
            if found:
                lag_s = delay_s(recording, NoteSettings())
                yield (
                    begin_features(recording, maps, found, lag_s=lag_s),
                    truth,
                    len(played) - int((truth != NONE).sum()),
                )


def notes_among(found: Sequence[Begin], played: Sequence[NDArray[Any]], *, lowest_midi: int, hop_s: float) -> Floats:
    """Return PICKED or LEGATO for each peak that is a played note, else NONE; a note has one peak, the strongest."""
    truth = np.full(len(found), float(NONE))
    free = set(range(len(played)))
    for k in sorted(range(len(found)), key=lambda k: -found[k].peak):
        here = found[k]
        near = [
            n
            for n in free
            if abs(played[n][0] * TICK / RATE_HZ - here.at * hop_s) <= NEAR_S
            and abs(played[n][1] - here.row - lowest_midi) <= NEAR_SEMITONES
        ]
        if near:
            chosen = min(near, key=lambda n: abs(played[n][1] - here.row - lowest_midi))
            free.remove(chosen)
            truth[k] = LEGATO if played[chosen][LEGATO_FIELD] > 0 else PICKED
    return truth


def learned(features: Floats, truth: Floats, keep: NDArray[np.bool_], *, seed: int = 1) -> dict[str, Floats]:
    """Return the layers that tell notes best on the examples of ``keep``, learned on the others."""
    rng = np.random.default_rng(seed)
    learn = ~keep
    middle, spread = features[learn].mean(axis=0), features[learn].std(axis=0) + 1e-3
    scaled = np.clip((features - middle) / spread, -6, 6)
    count = scaled.shape[1]
    layers = {
        "first": rng.normal(0, count**-0.5, (count, HIDDEN)),
        "first_bias": np.zeros(HIDDEN),
        "second": rng.normal(0, HIDDEN**-0.5, HIDDEN),
        "second_bias": np.zeros(1),
    }
    mean = {name: np.zeros_like(value) for name, value in layers.items()}
    square = {name: np.zeros_like(value) for name, value in layers.items()}
    numbers, step = np.flatnonzero(learn), 0
    best: tuple[float, dict[str, Floats]] = (np.inf, layers)
    for turn in range(ROUNDS):
        rng.shuffle(numbers)
        rate = STEP * 0.5 * (1 + np.cos(np.pi * turn / ROUNDS))
        for first in range(0, numbers.size, BATCH):
            some = numbers[first : first + BATCH]
            step += 1
            for name, slope in _slopes(layers, scaled[some], truth[some]).items():  # D. Kingma and J. Ba, Adam, 2015
                mean[name] = 0.9 * mean[name] + 0.1 * slope
                square[name] = 0.999 * square[name] + 0.001 * slope**2
                toward = mean[name] / (1 - 0.9**step) / (np.sqrt(square[name] / (1 - 0.999**step)) + 1e-8)
                layers[name] = layers[name] - rate * (toward + DECAY / STEP * layers[name] * ("bias" not in name))
        loss = _loss(layers, scaled[keep], truth[keep])
        if loss < best[0]:
            best = (loss, dict(layers))
    return {"middle": middle, "spread": spread, **best[1]}


def _answer(layers: dict[str, Floats], scaled: Floats) -> tuple[Floats, Floats]:
    hidden = np.tanh(scaled @ layers["first"] + layers["first_bias"])
    return hidden, 1 / (1 + np.exp(-(hidden @ layers["second"] + layers["second_bias"])))


def told_by(layers: dict[str, Floats], features: Floats) -> Floats:
    """Return the probabilities that learned layers give features."""
    return _answer(layers, np.clip((features - layers["middle"]) / layers["spread"], -6, 6))[1]


def _slopes(layers: dict[str, Floats], scaled: Floats, truth: Floats) -> dict[str, Floats]:
    hidden, told = _answer(layers, scaled)
    off = (told - truth) / truth.size
    back = off[:, None] * layers["second"][None, :] * (1 - hidden**2)
    return {
        "second": hidden.T @ off,
        "second_bias": np.array([off.sum()]),
        "first": scaled.T @ back,
        "first_bias": back.sum(axis=0),
    }


def _loss(layers: dict[str, Floats], scaled: Floats, truth: Floats) -> float:
    told = np.clip(_answer(layers, scaled)[1], 1e-6, 1 - 1e-6)
    return float(-np.mean(truth * np.log(told) + (1 - truth) * np.log(1 - told)))


def figures(told: Floats, truth: NDArray[Any], missed: int, *, least: float = 0.5) -> dict[str, float]:
    """Return precision, recall and F of the peaks told to be notes; ``missed`` notes showed no peak."""
    right = float(truth[told >= least].sum())
    written, wanted = float((told >= least).sum()), float(truth.sum() + missed)
    return {
        "precision": round(right / max(1.0, written), 4),
        "recall": round(right / max(1.0, wanted), 4),
        "F": round(2 * right / max(1.0, written + wanted), 4),
    }


def main(words: Sequence[str] | None = None) -> int:
    """Learn as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="learn_begins", description="Learn which peaks of the onset maps are notes.")
    parser.add_argument("--bank", type=Path, required=True, help="file made by note_bank")
    parser.add_argument("--weights", type=Path, help="a .tflite file; the shipped network when left out")
    parser.add_argument("--clips", type=int, default=1200, help="of 4.5 s")
    parser.add_argument("--keep", type=Path, help="keep the features here, or take them from here")
    parser.add_argument("--out", type=Path, default=Path("transcribe/notes/weights/begins.json"))
    chosen = parser.parse_args(words)
    try:
        parts = _gathered(chosen)
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    features, truth, clip, missed = parts["features"], parts["truth"], parts["clip"], parts["missed"]
    keep, note = clip % KEPT_BACK == 0, truth != NONE
    layers = {
        "note": learned(features, note.astype(float), keep),
        "legato": learned(features[note], (truth[note] == LEGATO).astype(float), keep[note]),
    }
    found = figures(told_by(layers["note"], features[keep]), note[keep], int(missed[np.unique(clip[keep])].sum()))
    kept = keep & note
    legato = figures(told_by(layers["legato"], features[kept]), truth[kept] == LEGATO, 0)
    print(f"{truth.size} peaks, {int(note.sum())} notes; kept back: {found}; legato: {legato}")
    made = {
        "written by": "python -m transcribe.training.learn_begins",
        "peaks": int(truth.size),
        "notes": int(note.sum()),
        "kept back": {"note": found, "legato": legato},
        **{of: {name: np.round(value, 4).tolist() for name, value in each.items()} for of, each in layers.items()},
    }
    chosen.out.write_text(json.dumps(made) + "\n", encoding="utf-8")
    return 0


def _gathered(chosen: argparse.Namespace) -> dict[str, NDArray[Any]]:
    if chosen.keep is not None and chosen.keep.is_file():
        with np.load(chosen.keep) as file:
            return {name: file[name] for name in file.files}
    weights = None if chosen.weights is None else chosen.weights.read_bytes()
    each = list(examples(with_harmonics(read_bank(chosen.bank)), clips=chosen.clips, weights=weights))
    parts: dict[str, NDArray[Any]] = {
        "features": np.concatenate([features for features, _, _ in each]),
        "truth": np.concatenate([truth for _, truth, _ in each]),
        "clip": np.concatenate([np.full(truth.size, k) for k, (_, truth, _) in enumerate(each)]),
        "missed": np.array([missed for _, _, missed in each]),
    }
    if chosen.keep is not None:
        np.savez(chosen.keep, **parts)  # type: ignore[arg-type]
    return parts


if __name__ == "__main__":
    sys.exit(main())
