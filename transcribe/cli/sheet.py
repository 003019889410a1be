"""``takesheet sheet``: a draft, or a take, as a sheet to hand out."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from fingering.errors import FingeringError
from transcribe.cli.options import (
    add_guitar_options,
    add_hearing_options,
    add_music_options,
    add_passage_options,
    choices_from,
)
from transcribe.cli.progress import progress_bar
from transcribe.errors import SettingsError

if TYPE_CHECKING:
    from transcribe.document.model import TakeDocument
    from transcribe.write.sheet_options import SheetOptions

DEFAULT_FOLDER = Path("sheets")
FORMATS = ("pdf", "svg", "png")
DEFAULT_FORMATS = "pdf,svg"
PARTS_HELP = (
    "chords (symbols), degrees (scale degrees), tones (what each note does), fingers (of the fretting hand), "
    "strokes (of the picking hand), positions (Roman numerals), diagrams (of the shapes), about (the paragraph), "
    "legend (the signs used)"
)
HEARD_SHARE = 0.6  # of the whole time, where a recording is drafted first

EXAMPLE = """\
example:
  takesheet sheet drafts/monday-lick.take.json --title "Monday lick" --final --out lesson-12
  takesheet sheet monday-lick.wav --only tab --large-print --paper letter --formats pdf,png

PDF has pages to print, SVG is one tall picture for screens, PNG a picture a page.
"""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add ``sheet`` to the command line."""
    parser = subparsers.add_parser(
        "sheet",
        help="engrave a draft as a sheet to hand out: notation, tab, chords, what it means",
        description="Engrave a draft as a sheet to hand out, with notation and tab, chord shapes and what the notes "
        "do. A recording is drafted first.",
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "take",
        type=Path,
        metavar="TAKE_OR_DOCUMENT",
        help="a .take.json of a draft, a recording (drafted first), a MIDI file or a MusicXML file",
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help=f"folder for the sheet; default {DEFAULT_FOLDER}")
    parser.add_argument(
        "--formats", default=DEFAULT_FORMATS, metavar="LIST",
        help=f"what to write, from {', '.join(FORMATS)}, with commas between; default {DEFAULT_FORMATS}",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print what was written as JSON")
    group = parser.add_argument_group("the sheet")
    group.add_argument("--title", metavar="TEXT", help="title; default the name of the take")
    group.add_argument("--final", action="store_true", help="leave out the marks and the list of what is doubtful")
    group.add_argument("--only", choices=("notation", "tab"), help="one staff alone; default both")
    group.add_argument("--large-print", action="store_true", help="larger music and words; default off")
    group.add_argument(
        "--with",
        dest="add",
        default="",
        metavar="LIST",
        help=f"also show, from: {PARTS_HELP}; all but tones and strokes are shown anyway",
    )
    group.add_argument("--without", dest="drop", default="", metavar="LIST", help="leave out parts of the same list")
    group.add_argument("--paper", choices=("a4", "letter"), default="a4", help="size of the paper; default a4")
    group.add_argument("--theme", choices=("light", "dark"), default="light", help="colours; default light")
    group.add_argument(
        "--font", type=Path, metavar="FILE",
        help="TrueType font for words in a script that ours lack, such as Chinese; default one of this machine's",
    )  # fmt: skip
    add_passage_options(parser)
    add_music_options(parser)
    add_guitar_options(parser)
    add_hearing_options(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the sheet of a document or take; returns 0."""
    from transcribe.cli.commands import EXIT_OK
    from transcribe.write.sheet_options import SHOWABLE

    formats = names_from(arguments.formats, FORMATS, "format")
    if not formats:
        raise SettingsError("no format to write", f"Give at least one of {', '.join(FORMATS)}.")
    options = options_from(
        arguments, names_from(arguments.add, SHOWABLE, "part"), names_from(arguments.drop, SHOWABLE, "part")
    )
    _write(arguments, options, formats)
    return EXIT_OK


def options_from(arguments: argparse.Namespace, add: tuple[str, ...], drop: tuple[str, ...]) -> SheetOptions:
    """Return the options typed; raises SettingsError for a part that is both wanted and left out."""
    from transcribe.write.sheet_options import SHOWN, SheetOptions

    if both := set(add) & set(drop):
        raise SettingsError(
            f"--with and --without both name {', '.join(sorted(both))}", "Name a part in one of them only."
        )
    return SheetOptions(
        paper=arguments.paper,
        theme=arguments.theme,
        staves=arguments.only or "both",
        large_print=arguments.large_print,
        show=(frozenset(SHOWN) | set(add)) - set(drop),
        final=arguments.final,
        title=arguments.title,
        font=arguments.font,
    )


def names_from(text: str, known: tuple[str, ...], what: str) -> tuple[str, ...]:
    """Return the names in a list with commas or spaces between; raises SettingsError for one that is not known.

    >>> names_from("pdf, png", ("pdf", "svg", "png"), "format")
    ('pdf', 'png')
    """
    names = tuple(dict.fromkeys(text.lower().replace(",", " ").split()))
    for name in names:
        if name not in known:
            raise SettingsError(f"no such {what}: {name}", f"Choose from {', '.join(known)}.")
    return names


def _write(arguments: argparse.Namespace, options: SheetOptions, formats: tuple[str, ...]) -> None:
    from transcribe.cli.positions import stem_of
    from transcribe.score.remarks import is_caution
    from transcribe.write.files import write_together
    from transcribe.write.sheet import sheet_of
    from transcribe.write.sheet_files import left_over_pages, sheet_files

    folder = arguments.out or DEFAULT_FOLDER
    stem = stem_of(arguments.take)
    with progress_bar(arguments.take.name) as report:
        document, begun = _document(arguments, report)
        sheet = sheet_of(
            document,
            name=stem,
            options=options,
            progress=lambda stage, share: report(stage, begun + (1 - begun) * share),
        )
        files = sheet_files(sheet, formats, stem, report=lambda stage, share: report(stage, share))
        written = write_together(folder, files)
    left = left_over_pages(folder, stem, len(sheet.pages)) if "png" in formats else ()
    doubts = 0 if options.final else sum(not is_caution(doubt) for doubt in document.doubts)
    if arguments.json:
        told = {
            "files": [str(path) for path in written], "pages": len(sheet.pages), "title": sheet.title,
            "doubts": doubts, "no_sign_for": sheet.missing, "left_over": [str(path) for path in left],
        }  # fmt: skip
        print(json.dumps(told, indent=2, ensure_ascii=False))
        return
    pages = f"{len(sheet.pages)} page{'' if len(sheet.pages) == 1 else 's'}"
    print(f"written: {', '.join(str(path) for path in written)} ({pages})")
    if doubts:
        print(f"draft style: {doubts} doubt{'' if doubts == 1 else 's'} listed and marked; --final leaves them out")
    if sheet.missing:
        print(f"takesheet: the fonts have no sign for {sheet.missing}; left out of the pages, --font names one",
              file=sys.stderr)  # fmt: skip
    if left:
        print(f"takesheet: pages of an earlier, longer sheet are still there: {', '.join(p.name for p in left)}",
              file=sys.stderr)  # fmt: skip


def _document(arguments: argparse.Namespace, report: Callable[[str, float], None]) -> tuple[TakeDocument, float]:
    """Return the music given as a take document, drafted where it is a recording, and the share of the work done."""
    from transcribe.opening import kind_of_file, open_music

    share = HEARD_SHARE if kind_of_file(arguments.take) == "recording" else 0.0
    document = open_music(
        arguments.take, choices_from(arguments), progress=lambda stage, done: report(stage, share * done)
    )
    return placed(document), share


def placed(document: TakeDocument) -> TakeDocument:
    """Return a document of which no note has a place yet, such as bare pitches and times, with the easiest places."""
    from transcribe.positions import Wishes, find_positions

    if any(take.placement is not None for take in document.notes):
        return document
    try:
        found = find_positions(document, Wishes(count=0))
    except FingeringError:  # a neck or music that no hand can play: notation alone still says what sounds
        return document
    return found.document_with(1) if found.ways else document
