"""``takesheet bends``: did the bend reach pitch?"""

from __future__ import annotations

import argparse
import json
import re
import sys
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from transcribe.cli.options import (
    add_guitar_options,
    add_hearing_options,
    add_music_options,
    add_passage_options,
    choices_from,
)
from transcribe.cli.progress import progress_bar
from transcribe.errors import SettingsError
from transcribe.settings import NoteSettings

if TYPE_CHECKING:
    from transcribe.document.model import TakeDocument
    from transcribe.write.bend_report import BendReport

DEFAULT_TOLERANCE_CENTS = NoteSettings().bend_tolerance_cents
WHOLE_STEP_CENTS = 200
SIZE_WORDS = {"quarter": Fraction(1, 4), "half": Fraction(1, 2), "full": Fraction(1), "whole": Fraction(1)}
SIZE_MEND = "Write quarter, half, full, '1 1/2', '2 steps' or cents from 20 up, for example --target n3=full."
PICTURE_ENDINGS = (".svg", ".png")

EXAMPLE = """\
example:
  takesheet bends monday-lick.wav --picture monday-bends.png
  takesheet bends drafts/monday-lick.take.json --target n3=full --tolerance 5

The tolerance is how far off still counts as in tune; a quarter-tone curl is always given 20 cents.
"""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add ``bends`` to the command line."""
    parser = subparsers.add_parser(
        "bends",
        help="tell whether each bend reached its pitch, and by how many cents it missed",
        description="Tell for every bend of a take where it started, what it reached, by how many cents it missed its "
        "target, how long it took and how steadily it was held.",
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "take", type=Path, metavar="TAKE_OR_DOCUMENT", help="a recording, a .take.json, or a MIDI or MusicXML file"
    )
    parser.add_argument(
        "--target",
        action="append",
        default=[],
        metavar="NOTE=SIZE",
        help="what a note was meant to be bent to: quarter, half, full, '1 1/2', or cents; may be repeated; "
        "default the usual size nearest to what was heard",
    )
    parser.add_argument(
        "--tolerance",
        type=float,
        default=DEFAULT_TOLERANCE_CENTS,
        metavar="CENTS",
        help=f"largest miss that counts as in tune; default {DEFAULT_TOLERANCE_CENTS:g} cents",
    )
    parser.add_argument("--picture", type=Path, metavar="FILE", help="draw pitch against target to a .svg or .png file")
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")
    add_passage_options(parser)
    add_music_options(parser)
    add_guitar_options(parser)
    add_hearing_options(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Measure the bends of a take or document; returns 0, also when there are none."""
    targets = dict(target_from_text(words) for words in arguments.target)
    if not 0 < arguments.tolerance < 600:
        raise SettingsError(f"a tolerance of {arguments.tolerance:g} cents", "Give more than 0; 5 is strict, 10 usual.")
    if arguments.picture is not None and arguments.picture.suffix.lower() not in PICTURE_ENDINGS:
        raise SettingsError(f"no such picture format: {arguments.picture}", "End the name in .svg or .png.")

    from transcribe.write.bend_report import bend_report, report_json, report_text

    document = _document(arguments)
    report = bend_report(document, take=arguments.take.name, tolerance_cents=arguments.tolerance, targets_cents=targets)
    drawn = _draw(report, arguments.picture) if arguments.picture is not None else ""
    if arguments.json:
        print(json.dumps(report_json(report), indent=2, ensure_ascii=False))
        print(drawn, file=sys.stderr, end="\n" if drawn else "")
    else:
        print(report_text(report) + (f"\n\n{drawn}" if drawn else ""))
    return 0


def target_from_text(words: str) -> tuple[str, float]:
    """Return a note's id and its target in cents for ``n3=full`` or ``n3=150``; raises SettingsError.

    >>> target_from_text("n3=1 1/2")
    ('n3', 300.0)
    """
    note, equals, size = (part.strip() for part in words.partition("="))
    if not (note and equals and size):
        raise SettingsError(f"no such target: {words!r}", "Write the note's id, =, and the size: --target n3=full.")
    return note, size_from_text(size)


def size_from_text(size: str) -> float:
    """Return a bend's size in cents, from words of the trade or cents; raises SettingsError.

    >>> [size_from_text(words) for words in ("quarter", "half", "full", "1 1/2", "2 steps", "185")]
    [50.0, 100.0, 200.0, 300.0, 400.0, 185.0]
    """
    words = size.lower().strip()
    steps = SIZE_WORDS.get(words.removesuffix(" step").removesuffix("-step"))
    match = re.fullmatch(r"(?:(\d) )?(\d)/(\d)(?: steps?)?|(\d(?:\.\d+)?) steps?", words)
    if steps is None and match and match.group(3) != "0":
        whole, over, under, number = match.groups()
        steps = Fraction(number) if number else Fraction(int(whole or 0)) + Fraction(int(over), int(under))
    if steps is not None:
        cents = float(steps * WHOLE_STEP_CENTS)
    else:
        digits = re.fullmatch(r"\+?(\d+(?:\.\d+)?) ?(?:c|cents?)?", words)
        if not digits:
            raise SettingsError(f"no such bend: {size!r}", SIZE_MEND)
        cents = float(digits.group(1))
        if cents < 20 and not words.endswith(("c", "cent", "cents")):
            raise SettingsError(f"{size!r} is steps or cents?", SIZE_MEND)
    if not 0 <= cents <= 600:
        raise SettingsError(f"no string bends by {cents:g} cents", SIZE_MEND)
    return cents


def _document(arguments: argparse.Namespace) -> TakeDocument:
    """Return the document of the music given: read, turned from MIDI or MusicXML, or drafted from a recording."""
    from transcribe.opening import open_music

    with progress_bar(arguments.take.name) as report:
        return open_music(arguments.take, choices_from(arguments), progress=report)


def _draw(report: BendReport, path: Path) -> str:
    """Write the picture and return what to say about it."""
    from transcribe.write.bend_picture import bend_picture
    from transcribe.write.bend_report import bent_notes
    from transcribe.write.files import write_together
    from transcribe.write.raster import png_from_svg

    notes = bent_notes(report)
    if not notes:
        why = "the document holds no pitch curve of a bent note" if report.bends else "there is no bend to draw"
        return f"no picture: {why}"
    svg = bend_picture(notes, title=report.heading)
    data = png_from_svg(svg) if path.suffix.lower() == ".png" else svg.encode("utf-8")
    write_together(path.parent, {path.name: data}, elsewhere="Name another file with --picture")
    left = len(report.bends) - len(notes)
    return f"picture: {path}" + (f" ({left} bent notes have no pitch curve)" if left else "")
