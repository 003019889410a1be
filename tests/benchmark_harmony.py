"""How well the key is found, and how well it is known how well: ``python -m tests.benchmark_harmony`` (extra
``benchmark``).

Melodies with stated keys from the corpus of music21 (``tests/corpus_melodies.py``), whole and cut to two to four bars
(``tests/key_learning.py``). The tonic and the third above it must both be right: a dorian tune counts as minor, a
mixolydian one as major, since a take document knows these two; modal tunes are also told apart. The Essen collection
states no mode: there the tonic alone counts. Half of the tunes (by hash of the name) served for learning the weights
(``--fit``), the figures that count are of the other half. Nothing but pitch, length, place and bar length is told; keys
are those the editors wrote. The licks of ``fixtures/reference`` are asked too, with the key that they were written in
taken away: they served for choosing the weights of the guitar's habits; the passages on several strings that are only
written did not, though they showed that octaves and chords must not count every string's moves.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from fixtures.licks.passage import perform_passage
from fixtures.licks.together import TOGETHER
from tests.corpus_melodies import Melody, read_melodies, write_melodies
from tests.key_learning import MIDDLE, OPENING, WHOLE, Sample, as_module, learn, samples
from transcribe.document.analyse import analyse
from transcribe.document.model import TakeDocument
from transcribe.document.read import document_from_json, read_document
from transcribe.harmony.key_finding import guitar_scores, named, scores, scores_by, shares, spread, weights
from transcribe.harmony.names import fifths_of, pitch_class
from transcribe.settings import HarmonySettings
from transcribe.training.truth import take_document

MODAL = ("dorian", "mixolydian", "phrygian", "lydian", "aeolian")
REFERENCE = Path(__file__).parents[1] / "fixtures" / "reference"
RINGING_S = 6.0  # until a string left alone has faded
BINS = 10  # equal steps of confidence, as in the usual expected calibration error (C. Guo et al., ICML 2017)
Told = list[tuple[float, bool]]  # confidence, and whether the key was right


def told_of(heard: Sequence[Sample], tables: np.ndarray, minor: float) -> Told:
    """Confidence and rightness of the key of each sample; the tonic alone where no mode is stated."""
    settings, told = HarmonySettings(), []
    for one in heard:
        sums = scores_by(one.found, tables, minor) + guitar_scores(one.line, settings)
        belief = shares(sums / spread(one.line, settings))
        best = int(belief.argmax())
        tonic = pitch_class(fifths_of(one.melody.tonic))
        told.append((float(belief[best]), best == one.truth if one.melody.mode else best % 12 == tonic))
    return told


def share_right(told: Told) -> float:
    """Share of the keys found."""
    return sum(right for _, right in told) / max(len(told), 1)


def calibration_error(told: Told, weight: Sequence[float] | None = None) -> float:
    """Mean difference between confidence told and share right, over equal steps of confidence."""
    sure, right = np.array(told, dtype=float).T
    count = np.ones(len(told)) if weight is None else np.asarray(weight)
    place = np.minimum((sure * BINS).astype(int), BINS - 1)
    parts = [place == step for step in range(BINS) if (place == step).any()]
    return float(sum(abs((count * (sure - right))[part].sum()) for part in parts) / count.sum())


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


def licks() -> dict[str, TakeDocument]:
    """The licks of ``fixtures/reference``, each once, as written."""
    found: dict[str, TakeDocument] = {}
    for path in sorted(REFERENCE.glob("*.take.json")):
        found.setdefault(path.name.split(".")[0], read_document(path))
    return {name: document for name, document in found.items() if document.key is not None}


def passages() -> dict[str, TakeDocument]:
    """The passages on several strings that no file holds, as written: no weight was chosen by them."""
    shipped, found = licks(), {}
    for name, written in TOGETHER.items():
        played = perform_passage(written)
        if name in shipped or played.lick.key is None:
            continue
        rings_s = dict.fromkeys((note.id for note in played.notes), RINGING_S)
        told = take_document(played, file=name, samples=1, rate_hz=1, ring_s=rings_s, made_with="benchmark")
        found[name] = document_from_json(told)
    return found


def print_licks(title: str, documents: dict[str, TakeDocument]) -> None:
    """Print how often a lick's key is found with nothing told, and the missed ones by name."""
    missed, among_two, wrongly_sure = [], 0, 0
    for name, document in documents.items():
        told, alone = document.key, analyse(replace(document, key=None, vamp=None, chords=(), about=None)).key
        assert told is not None
        assert alone is not None
        truth, best = (f"{one.tonic} {one.mode}" for one in (told, alone))
        sure = alone.confidence or 0.0
        among_two += truth in (best, alone.runner_up)
        if truth != best:
            wrongly_sure += sure >= HarmonySettings().sure_of_key
            missed.append(f"  {name}: {truth} read as {best} ({sure:.2f}), then {alone.runner_up}")
    count = len(documents)
    print(f"{title}, nothing told: {count - len(missed)} of {count} right, {among_two} as key or runner-up, "
          f"{wrongly_sure} wrong and not doubted")  # fmt: skip
    print("\n".join(missed))


def print_reliability(heard: Sequence[Sample], told: Told) -> None:
    """Print what was told and what was right, by steps of confidence, and the calibration error."""
    print("held out: confidence told and share right")
    for name, kinds in (("whole tunes", (WHOLE,)), ("cut to 2 to 4 bars", (OPENING, "last bars", MIDDLE))):
        mine = [pair for one, pair in zip(heard, told, strict=True) if one.kind in kinds]
        minor = np.array([one.melody.is_minor for one in heard if one.kind in kinds])
        alike = np.where(minor, 0.5 / minor.mean(), 0.5 / (~minor).mean())
        print(f"  {name}: calibration error {calibration_error(mine):.3f}, "
              f"minor and major counted alike {calibration_error(mine, alike):.3f}")  # fmt: skip
        for step in range(BINS):
            part = [pair for pair in mine if step <= pair[0] * BINS < step + 1 + (step == BINS - 1)]
            if part:
                sure = np.mean([confidence for confidence, _ in part])
                print(f"    {step / BINS:.1f} to {(step + 1) / BINS:.1f}: told {sure:.2f}, "
                      f"right {share_right(part):.2f} ({len(part)})")  # fmt: skip


def print_right(halves: dict[str, list[Sample]], told: dict[str, Told]) -> None:
    """Print the share of keys found, by kind of stretch and kind of key."""
    print(f"{'key right':28}" + "".join(f"{half:>12}{'(heard)':>9}" for half in halves))
    for kind in (WHOLE, OPENING, "last bars", MIDDLE):
        print(kind if kind == WHOLE else f"{kind}, 2 to 4")
        for name in groups([]):
            cells = []
            for half, heard in halves.items():
                names = {m.name for m in groups([one.melody for one in heard])[name]}
                mine = [pair for one, pair in zip(heard, told[half], strict=True)
                        if one.kind == kind and one.melody.name in names]  # fmt: skip
                cells.append(f"{share_right(mine):12.3f}{len(mine):9}")
            print(f"  {name:26}" + "".join(cells))


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--melodies", type=Path, help="file to keep the melodies in; made when it is not there")
    parser.add_argument("--fit", type=Path, metavar="FILE", help="learn the weights, write them there")
    parser.add_argument("--wrong", action="store_true", help="list the tunes of the tuning half whose key is missed")
    parser.add_argument("--licks", action="store_true", help="our own licks alone; needs no corpus")
    arguments = parser.parse_args()
    if arguments.fit is None:  # our licks are asked with the weights as they stand
        print_licks("our own licks", licks())
        print_licks("passages on several strings", passages())
    if arguments.licks:
        return
    with tempfile.TemporaryDirectory() as folder:
        path = arguments.melodies or Path(folder) / "melodies.json"
        if not path.exists():
            write_melodies(path)
        melodies = read_melodies(path)
    began = time.perf_counter()
    halves = {"tuning": samples([m for m in melodies if not m.held_out]),
              "held out": samples([m for m in melodies if m.held_out])}  # fmt: skip
    if arguments.fit is None:
        tables, minor = weights()
    else:
        stated = [one for one in halves["tuning"] if one.melody.mode]
        tables, minor = learn(stated)
        count = len({one.melody.name for one in stated})
        arguments.fit.write_text(as_module(tables, minor, count), encoding="utf-8")
    told = {half: told_of(heard, tables, minor) for half, heard in halves.items()}
    spent_s = time.perf_counter() - began
    print_right(halves, told)
    stated = [one for one in halves["held out"] if one.melody.mode]
    print_reliability(stated, told_of(stated, tables, minor))
    if arguments.wrong:
        for one in halves["tuning"]:
            best = int(scores(one.found).argmax())
            if one.kind == WHOLE and one.melody.mode and best != one.truth:
                print(f"  {one.melody.name}: {one.melody.tonic} {one.melody.mode} read as {' '.join(named(best))}")
    print(f"time: {spent_s / sum(map(len, halves.values())) * 1000:.2f} ms a stretch")


if __name__ == "__main__":
    main()
