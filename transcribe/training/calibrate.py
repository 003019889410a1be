"""Learn how likely a heard note is right: python -m transcribe.training.calibrate --takes DIR --judge DIR --bank F

Folders hold sounds with their truth beside them, as ``weighed_takes.takes_in`` reads them: made takes, or a person's
own drafts once they are corrected; with ``--bank`` random passages are played too, as for the network. Every take is
heard by the paths a draft would look at; a note is right when it pairs with one that was played, within 50 ms and the
semitone. What is learned is written to ``notes/confidence_weights.py``; how far the numbers can be believed on the
takes of ``--judge``, and on passages played on guitars held out, goes into the card of the weights.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import chain
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from transcribe.audio.condition import condition
from transcribe.audio.read import read_recording
from transcribe.errors import ReadError, TakeError, TakesheetError
from transcribe.notes.odds import Odds
from transcribe.settings import NoteSettings, Settings
from transcribe.training.convert_crepe import write_whole
from transcribe.training.fit_odds import Reliability, Shape, doubt_threshold, fitted, reliability, told_by_others
from transcribe.training.ground_shapes import ATTACK_LINE, ATTACK_SEVERAL, LINE, LINE_ALONE, SEVERAL
from transcribe.training.harmonic_zones import with_harmonics
from transcribe.training.note_bank import Bank, read_bank
from transcribe.training.weighed_takes import Row, heard_by_each_path, keep_all, made_takes, rows_of, takes_in

OUT = Path(__file__).parents[1] / "notes" / "confidence_weights.py"
HEADING = "## How far its confidences can be believed"
TITLES = {"line": "single lines", "several": "several voices"}
LEARNED: dict[str, tuple[str, str, dict[str, Shape]]] = {  # name: path, what is asked, curves
    "LINE": ("line", "note", LINE),
    "LINE_ALONE": ("line", "note", LINE_ALONE),
    "SEVERAL": ("several", "note", SEVERAL),
    "ATTACK_OF_A_LINE": ("line", "attack", ATTACK_LINE),
    "ATTACK_OF_SEVERAL": ("several", "attack", ATTACK_SEVERAL),
}


def gathered(folders: Sequence[Path], bank: Bank | None = None, *, clips: int = 0, held_out: bool = False) -> list[Row]:
    """Return the rows of every note in some folders and in made clips; a take with nothing to hear gives none."""
    rows: list[Row] = []
    made = () if bank is None else made_takes(bank, clips=clips, held_out=held_out)
    for truth, recording in chain(((truth, read_recording(sound)) for sound, truth in takes_in(folders)), made):
        try:
            take = condition(recording, accept_clipping=True).recording
        except TakeError as error:
            print(f"{truth.name}: {error.found}", file=sys.stderr)
            continue
        for path, heard in heard_by_each_path(take, settings=keep_all(Settings())).items():
            rows += rows_of(truth, path, heard)
        print(f"{truth.name}: {len(rows)} notes so far", file=sys.stderr, flush=True)
    return rows


def learned(rows: Sequence[Row]) -> dict[str, Odds]:
    """Return the weights by name, each doubting what its threshold says; tried by leaving one guitar out at a time.

    Raises ReadError when there are too few notes of either path, right or wrong.
    """
    found = {}
    for name, (path, asked, shapes) in LEARNED.items():
        mine, right = _asked(rows, path, asked)
        if min(sum(right), len(right) - sum(right)) < 5:
            raise ReadError(
                f"too few notes heard as {TITLES[path]} are right, or wrong, to learn from",
                "Give more takes: both single lines and strings together, some of them hard to hear.",
            )
        grounds = [row.grounds for row in mine]
        told = told_by_others(grounds, right, [row.guitar for row in mine], shapes)
        rules = NoteSettings()
        kept = told >= (rules.least_confidence if path == "line" else rules.least_confidence_of_several)
        below = doubt_threshold(told[kept], np.array(right)[kept])
        found[name] = replace(fitted(grounds, right, shapes), doubted_below=below)
    return found


def _asked(rows: Sequence[Row], path: str, asked: str) -> tuple[list[Row], list[bool]]:
    mine = [row for row in rows if row.path == path and (asked == "note" or row.right)]
    return mine, [row.right if asked == "note" else row.attack_right for row in mine]


def judged(odds: dict[str, Odds], rows: Sequence[Row]) -> dict[str, Reliability]:
    """Return how far the confidences of each path can be believed, over rows that were not learned from."""
    found = {}
    for name, path in (("LINE", "line"), ("SEVERAL", "several")):
        mine, right = _asked(rows, path, "note")
        found[path] = reliability([odds[name].of(row.grounds) for row in mine], right)
    return found


def weights_text(odds: dict[str, Odds], rows: Sequence[Row]) -> str:
    """Return the Python file of the weights; what they were learned from is told in its heading."""
    wrong = sum(not row.right for row in rows)
    names, guitars = len({row.take for row in rows}), len({row.guitar for row in rows})
    lines = [
        '"""What each ground adds to the log-odds that a note is right, and the share below which it is doubted.',
        "",
        f"Written by ``python -m transcribe.training.calibrate`` from {len(rows)} notes, {wrong} of them wrong, of",
        f"{names} takes on {guitars} guitars; not to be edited by hand.",
        '"""',
        "",
        "from __future__ import annotations",
        "",
        "from transcribe.notes.odds import Curve, Odds",
        "",
    ]
    for name, each in odds.items():
        lines += [f"{name} = Odds(", f"    {each.base},", "    {"]
        lines += [f'        "{ground}": Curve({curve.at}, {curve.adds}),' for ground, curve in each.curves.items()]
        lines += ["    },", f"    {each.doubted_below},", ")"]
    return "\n".join(lines) + "\n"


def card_section(found: dict[str, Reliability]) -> str:
    """Return the part of the card that tells how far the confidences can be believed, in Markdown."""
    lines = [HEADING, ""]
    lines += [
        "Notes of takes on guitars and of licks that neither the network nor the weighing was trained on, by the",
        "confidence they were given (`python -m transcribe.training.calibrate`). The expected calibration error is the",
        "mean distance of the two columns in the middle over all notes (Guo et al., ICML 2017; 15 equal bins).",
    ]
    for path, each in found.items():
        notes = sum(count for _, _, count in each.bins)
        lines += ["", f"**{TITLES[path].capitalize()}:** {notes} notes, expected calibration error {each.error:.3f}."]
        lines += ["", "| mean confidence | share right | notes |", "| --- | --- | --- |"]
        lines += [f"| {told:.3f} | {right:.3f} | {count} |" for told, right, count in each.bins]
    return "\n".join(lines) + "\n"


def with_section(card: str, section: str) -> str:
    """Return a card with the section put in place of its older one, or at its end."""
    before, heading, after = card.partition(HEADING)
    later = after.partition("\n## ")[2]
    return before.rstrip() + "\n\n" + section + (f"\n## {later}" if heading and later else "")


def main(words: Sequence[str] | None = None) -> int:
    """Learn as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="calibrate", description="Learn how likely a heard note is right.")
    parser.add_argument("--takes", type=Path, action="append", default=[], help="folder to learn from; repeatable")
    parser.add_argument("--judge", type=Path, action="append", default=[], help="folder to judge on; repeatable")
    parser.add_argument(
        "--bank", type=Path, help="file made by note_bank: made clips are learned from and judged on, too"
    )
    parser.add_argument("--clips", type=int, default=240, help="made clips to learn from; half as many to judge on")
    parser.add_argument("--out", type=Path, default=OUT, help="file of the weights; the shipped one when left out")
    parser.add_argument("--card", type=Path, help="card to tell in how far the confidences can be believed")
    chosen = parser.parse_args(words)
    try:
        if chosen.card is not None:
            _card(chosen.card)  # told now, not after all has been heard
        bank = None if chosen.bank is None else with_harmonics(read_bank(chosen.bank))
        with ProcessPoolExecutor(1, get_context("spawn")) as beside:  # heard in another process meanwhile
            judging = beside.submit(gathered, chosen.judge, bank, clips=chosen.clips // 2, held_out=True)
            rows = gathered(chosen.takes, bank, clips=chosen.clips)
            judge = judging.result()
        write_learned(rows, judge, out=chosen.out, card=chosen.card)
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def write_learned(rows: Sequence[Row], judge: Sequence[Row], *, out: Path, card: Path | None) -> None:
    """Write the weights learned from ``rows``, and how they fare on ``judge`` into the card."""
    odds = learned(rows)
    write_whole(out, weights_text(odds, rows).encode())
    found = judged(odds, judge)
    for path, each in found.items():
        print(f"{TITLES[path]}: expected calibration error {each.error:.4f} on held-out takes")
    if card is not None:
        write_whole(card, with_section(_card(card), card_section(found)).encode())


def _card(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise ReadError(f"cannot read {path}", "Give the card that transcribe.training.card wrote.") from error


if __name__ == "__main__":
    sys.exit(main())
