"""``takesheet draft``: recorded takes to drafts of tab, notation and MIDI."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from fingering.errors import FingeringError
from transcribe.choices import TakeChoices
from transcribe.cli.corrections import refuse_to_lose_corrections
from transcribe.cli.options import (
    add_guitar_options,
    add_hearing_options,
    add_music_options,
    add_passage_options,
    choices_from,
)
from transcribe.cli.progress import progress_bar
from transcribe.errors import SettingsError, TakesheetError

DEFAULT_FOLDER = Path("drafts")
NARROWEST_TAB = 40

EXAMPLE = """\
example:
  takesheet draft monday-lick.mp4 --from 1:12 --to 1:21 --tempo 96 --key A --out lesson-12
"""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add ``draft`` to the command line."""
    parser = subparsers.add_parser(
        "draft",
        help="listen to recorded takes and draft tab, notation and MIDI",
        description="Listen to recorded takes and draft tab, notation and MIDI: "
        "TAKE.take.json, TAKE.tab.txt, TAKE.musicxml and TAKE.mid.",
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("takes", nargs="+", type=Path, metavar="TAKE", help="audio or video files")
    parser.add_argument("--out", type=Path, metavar="DIR", help=f"folder for the drafts; default {DEFAULT_FOLDER}")
    parser.add_argument(
        "--json", action="store_true", help="print the take document instead of the tab; files only if --out is given"
    )
    parser.add_argument(
        "--also",
        action="append",
        choices=("jams",),
        default=[],
        help="one more format to write: jams, for programs that compare transcriptions (needs takesheet[jams])",
    )
    parser.add_argument("--jobs", type=int, default=1, metavar="N", help="takes to work on at once; default 1")
    add_passage_options(parser)
    add_music_options(parser)
    add_guitar_options(parser)
    add_hearing_options(parser)
    parser.set_defaults(run=run)


@dataclass(frozen=True, slots=True)
class _Job:
    """One take to draft; plain values, so that another process can take it."""

    take: Path
    choices: TakeChoices
    folder: Path | None  # None: write no files
    as_json: bool
    width: int
    quiet: bool
    also: tuple[str, ...] = ()  # more formats to write


@dataclass(frozen=True, slots=True)
class _Outcome:
    """What to print for one take: the draft, or the mistake."""

    text: str = ""
    mistake: tuple[str, str] | None = None


def run(arguments: argparse.Namespace) -> int:
    """Draft every take; returns 0, or 2 when any take could not be drafted."""
    from transcribe.cli.commands import EXIT_MISTAKE, EXIT_OK, say_mistake

    if arguments.jobs < 1:
        raise SettingsError(f"--jobs {arguments.jobs} leaves nobody to work", "Give 1 or more.")
    folder = arguments.out or (None if arguments.json else DEFAULT_FOLDER)
    _refuse_same_names(arguments.takes)
    if "jams" in arguments.also:
        from transcribe.write.jams import need_jams

        need_jams()
    jobs = [
        _Job(
            take=take,
            choices=choices_from(arguments),
            folder=folder,
            as_json=arguments.json,
            width=max(NARROWEST_TAB, shutil.get_terminal_size((100, 24)).columns),
            quiet=arguments.jobs > 1,
            also=tuple(arguments.also),
        )
        for take in arguments.takes
    ]
    exit_code = EXIT_OK
    for outcome in _outcomes(jobs, arguments.jobs):
        if outcome.mistake is not None:
            say_mistake(*outcome.mistake)
            exit_code = EXIT_MISTAKE
        else:
            print(outcome.text)
            sys.stdout.flush()
    return exit_code


def _outcomes(jobs: list[_Job], workers: int) -> Iterator[_Outcome]:
    if workers == 1 or len(jobs) == 1:
        yield from map(_draft, jobs)
        return
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    with (
        progress_bar(f"{len(jobs)} takes") as report,
        ProcessPoolExecutor(min(workers, len(jobs)), mp_context=get_context("spawn")) as pool,
    ):
        for done, outcome in enumerate(pool.map(_draft, jobs), start=1):
            report(f"{done} of {len(jobs)}", done / len(jobs))
            yield outcome


def _draft(job: _Job) -> _Outcome:
    """Draft one take and write its files; a mistake is an outcome, so that the other takes go on."""
    try:
        return _Outcome(text=_draft_text(job))
    except (TakesheetError, FingeringError) as error:
        named = error.found if str(job.take) in error.found else f"{job.take}: {error.found}"
        return _Outcome(mistake=(named, error.mend))


def _draft_text(job: _Job) -> str:
    from contextlib import nullcontext

    from transcribe.document.text import document_bytes
    from transcribe.pipeline import draft_take
    from transcribe.write.draft_files import draft_files
    from transcribe.write.files import write_together

    stem = job.take.stem
    if job.folder is not None:
        refuse_to_lose_corrections(job.folder / f"{stem}.take.json")
    quiet = nullcontext(lambda stage, share: None)
    with quiet if job.quiet else progress_bar(job.take.name) as report:
        document = draft_take(job.take, job.choices, progress=report)
        files = draft_files(document, title=stem, also=job.also)
        if job.folder is not None:
            write_together(job.folder, {f"{stem}{suffix}": data for suffix, data in files.items()})
    if job.as_json:
        return document_bytes(document).decode("utf-8").rstrip("\n")
    from transcribe.cli.summary import summary
    from transcribe.score.build import build_score
    from transcribe.write.text_tab import text_tab

    score = build_score(document, title=stem)
    tab = text_tab(score, width=job.width)
    written = "" if job.folder is None else f"\nwritten: {job.folder / stem}{', '.join(files)}"
    return f"{tab.rstrip()}\n\n{summary(document, score)}{written}\n"


def _refuse_same_names(takes: list[Path]) -> None:
    """Raise SettingsError when two takes would write the same files."""
    seen: dict[str, Path] = {}
    for take in takes:
        if take.stem in seen:
            raise SettingsError(
                f"{seen[take.stem]} and {take} would both be written as {take.stem}.take.json",
                "Draft them with different --out folders, or rename one.",
            )
        seen[take.stem] = take
