"""Measure the whole path: ``python -m tests.benchmark``.

Protocol: every take of fixtures/takes is drafted three times: with no tempo told, with the tempo, and with the tempo
and the first downbeat; tuning, capo and meter are told each time, as a person would. Figures other than the two later
rhythms are from the first. Notes pair within 50 ms and the same semitone, the convention of mir_eval and MIREX;
figures are sums over a guitar's takes. Held-out guitars and licks are those of fixtures/SOURCES.md.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fingering.fretboard import Fretboard
from fixtures.render import HERE
from tests.measures.cold_start import cold_start
from tests.measures.known_pitch import pitch_errors_cents
from tests.measures.playability import unplayable_places
from tests.measures.real_phrases import score_folder
from transcribe.choices import TakeChoices
from transcribe.document.model import TakeDocument
from transcribe.document.read import read_document
from transcribe.errors import TakesheetError
from transcribe.evaluate.scores import Found, Scores
from transcribe.evaluate.takes import format_scores, score_takes
from transcribe.pipeline import draft_take

HELD_OUT_GUITARS = ("steel-acoustic", "sampled-driven")
HELD_OUT_LICKS = ("rope-and-winch", "rain-on-tin", "early-boat", "tin-capstan")


@dataclass(frozen=True, slots=True)
class Measured:
    """One take, drafted with the tempo untold and told."""

    name: str
    lick: str
    guitar: str
    alone: Scores
    tempo_told: Scores
    one_told: Scores  # the first downbeat as well
    unplayable: tuple[str, ...]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark", description=__doc__.split("\n")[0])
    parser.add_argument("--only", default="", metavar="TEXT", help="takes whose name contains this")
    parser.add_argument("--each", action="store_true", help="print a line a take")
    parser.add_argument("--full", action="store_true", help="print every score of every guitar")
    parser.add_argument(
        "--real", type=Path, metavar="DIR", help="also score a folder of real phrases (see real_phrases)"
    )
    parser.add_argument("--no-takes", action="store_true", help="leave the takes out")
    parser.add_argument("--no-cold", action="store_true", help="leave cold start and memory out")
    chosen = parser.parse_args()
    if not chosen.no_takes:
        measured = [measure(path) for path in sorted((HERE / "takes").glob("*.flac")) if chosen.only in path.stem]
        print_takes(measured, each=chosen.each, full=chosen.full)
    print_known_pitch()
    print_small_real()
    if chosen.real is not None:
        print_real(score_folder(chosen.real))
    if not chosen.no_cold:
        cold = cold_start()
        print(f"\ncold start, ten-second take, files written: {cold.seconds:.2f} s, peak {cold.peak_mb:.0f} MB")
        print(f"loaded on the way, of tensorflow, keras, numba, librosa: {', '.join(cold.loaded) or 'none'}")


def measure(take: Path) -> Measured:
    """Draft one take with less and more told, and score each."""
    reference = read_document(HERE / "reference" / f"{take.stem}.take.json")
    alone, tempo_told, one_told = (
        draft_take(take, choices_for(reference, tempo=tempo, one=one))
        for tempo, one in ((False, False), (True, False), (True, True))
    )
    lick, _, guitar = take.stem.partition(".")
    return Measured(
        take.stem,
        lick,
        guitar,
        score_takes(alone, reference),
        score_takes(tempo_told, reference),
        score_takes(one_told, reference),
        tuple(unplayable_places(alone)),
    )


def choices_for(reference: TakeDocument, *, tempo: bool, one: bool) -> TakeChoices:
    """Return what a person would tell about a take: tuning, capo, meter; tempo and first downbeat if asked."""
    guitar, rhythm = reference.instrument, reference.rhythm
    if rhythm is None:
        raise ValueError("a reference of the benchmark tells its rhythm")
    return TakeChoices(
        tempo_bpm=rhythm.tempo_bpm if tempo else None,
        first_downbeat_s=rhythm.first_downbeat_s if one else None,
        meter=rhythm.meter,
        fretboard=Fretboard(guitar.open_strings_midi, guitar.frets, guitar.capo, guitar.scale_length_mm),
    )


def print_takes(measured: list[Measured], *, each: bool, full: bool) -> None:
    print(HEADER)
    if each:
        for one in measured:
            print(row(one.name, [one]))
        print()
    for guitar in sorted({one.guitar for one in measured}, key=lambda name: (name in HELD_OUT_GUITARS, name)):
        mine = [one for one in measured if one.guitar == guitar]
        print(row(guitar + (" (held out)" if guitar in HELD_OUT_GUITARS else ""), mine))
        if full:
            print(format_scores(total(one.alone for one in mine)))
    for words, inside in (("held-out licks", True), ("other licks", False)):
        mine = [one for one in measured if (one.lick in HELD_OUT_LICKS) == inside]
        if mine:
            print(row(words, mine))
    if len(measured) > 1:
        print(row("all", measured))
    for one in measured:
        for line in one.unplayable:
            print(f"  unplayable in {one.name}: {line}")


HEADER = (
    f"{'':28}{'onset':>7}{'+end':>7}{'bends':>7}{'curls':>7}{'slides':>7}{'legato':>7}{'vibr.':>7}{'mutes':>7}"
    f"{'dead':>7}{'size c':>7}{'string':>7}{'finger':>7}{'rhythm':>7}{'+tempo':>7}{'+one':>7}"
    f"{'tempo':>7}{'unpl.':>7}\n"
)


def row(name: str, measured: list[Measured]) -> str:
    scores = total(one.alone for one in measured)
    tempo_told, one_told = total(one.tempo_told for one in measured), total(one.one_told for one in measured)
    size = scores.bend_size_error_cents.part(0.5)
    cells = [
        *(getattr(scores, field).f for field in ("notes", "notes_with_ends", "bends", "curls", "slides", "legato")),
        *(getattr(scores, field).f for field in ("vibrato", "palm_mutes", "dead_notes")),
        "-" if size is None else f"{size:.1f}",
        *(getattr(scores, field).share for field in ("strings", "fingers", "rhythm")),
        tempo_told.rhythm.share,
        one_told.rhythm.share,
        scores.tempo.share,
        str(sum(len(one.unplayable) for one in measured)),
    ]
    return f"{name:28}" + "".join(f"{cell if isinstance(cell, str) else number(cell):>7}" for cell in cells)


def number(value: float | None) -> str:
    return "-" if value is None else f"{value:.3f}"


def total(scores: Iterable[Scores]) -> Scores:
    first, *others = scores
    for other in others:
        first = first + other
    return first


def print_known_pitch() -> None:
    print("\npitch of tones and bends known by formula, through the whole path (cents)")
    for name, errors in pitch_errors_cents().items():
        size = np.abs(errors)
        print(
            f"  {name:34} median {np.median(size):.2f}, 95 % below {np.percentile(size, 95):.2f}, {size.size} moments"
        )


def print_small_real() -> None:
    print("\nfixtures/real: real guitars, small references")
    for path in sorted((HERE / "real").glob("*.flac")):
        reference = json.loads(path.with_suffix("").with_suffix(".take.json").read_text(encoding="utf-8"))
        try:
            print(f"  {path.stem:20} {found_words(score_takes(draft_take(path), reference).notes)}")
        except TakesheetError as error:
            print(f"  {path.stem:20} not drafted: {error.found}")


def print_real(scores: dict[str, Found]) -> None:
    print("\nreal phrases, hand-made references: onset F at 50 ms and the right semitone")
    for name, found in scores.items():
        print(f"  {name:20} {found_words(found)}")
    print(f"  {'all':20} {found_words(sum(scores.values(), Found(0, 0, 0)))}")


def found_words(found: Found) -> str:
    invented = found.written - found.right
    return f"F {number(found.f)}: {found.right} of {found.wanted} found, {invented} invented"


if __name__ == "__main__":
    main()
