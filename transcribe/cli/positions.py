"""``takesheet positions``: the other places on the neck, with reasons, and the one to keep."""

from __future__ import annotations

import argparse
import sys
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

if TYPE_CHECKING:
    from transcribe.document.model import TakeDocument
    from transcribe.positions import Positions, Wishes

DEFAULT_COUNT = 3

EXAMPLE = """\
example:
  takesheet positions drafts/monday-lick.take.json
  takesheet positions drafts/monday-lick.take.json --lock n3=2:10 --shape 'E of A' --use 2
  takesheet positions melody.mid --frets 5-9 --profile classical --use 1 --out lesson-12

Without --use nothing is written. With it, the way of that number goes into the take document that was read, and into
the draft's other files beside it as long as nobody changed them; with --out, a whole draft goes to another folder.
Notes fixed with --lock are marked as fixed in what is written and stay where they are from then on.

--json prints the take document with the chosen way in it (the first without --use), and one more key, "alternatives":
a list of all ways with use (the number), where, sound, effort, reasons, placements, shapes, cautions and doubts.
"""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add ``positions`` to the command line."""
    parser = subparsers.add_parser(
        "positions",
        help="show other places on the neck for the same notes, with reasons, and keep one",
        description="Show the easiest ways to play the notes of a recording, a take document, a MIDI file or a "
        "MusicXML file: tab side by side, what each asks of the hand, how it sounds, what to take care of.",
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "take",
        type=Path,
        metavar="TAKE_OR_DOCUMENT",
        help="a recording (drafted first), a .take.json, a MIDI file or a MusicXML file",
    )
    _add_place_options(parser)
    _add_choice_options(parser)
    add_passage_options(parser)
    add_music_options(parser)
    add_guitar_options(parser, frets_option="--neck-frets")
    add_hearing_options(parser)
    parser.set_defaults(run=run)


def _add_place_options(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("where on the neck")
    group.add_argument("--strings", metavar="RANGE", help="strings to use, such as 4-6 or 1,2,3; 1 is the highest")
    group.add_argument(
        "--frets", dest="fret_range", metavar="RANGE", help="frets to use, such as 5-9, from the nut or capo"
    )
    group.add_argument("--position", type=int, metavar="FRET", help="keep the index finger at this fret")
    group.add_argument(
        "--shape",
        metavar="SHAPE",
        help="stay around a chord shape: E, 'E of A' (the chord A in the E-shape) or 'E at 5' (its fret); "
        "with no chord named, the document's vamp, only chord or key tells it",
    )
    group.add_argument(
        "--bars", metavar="RANGE", help="place only these bars, such as 3-4, and leave the others as they are"
    )
    group.add_argument(
        "--lock",
        action="append",
        default=[],
        metavar="NOTE=STRING:FRET[:FINGER]",
        help="fix a note, such as n3=2:10 or n3=2:10:4; n3=2: fixes the string alone, n3=::4 the finger; "
        "may be repeated",
    )
    group.add_argument(
        "--unlock", action="append", default=[], metavar="NOTE", help="free a note that was fixed; may be repeated"
    )


def _add_choice_options(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("the choice")
    group.add_argument(
        "--alternatives",
        type=int,
        default=DEFAULT_COUNT,
        metavar="COUNT",
        help=f"really different ways to show beside the easiest; default {DEFAULT_COUNT}",
    )
    group.add_argument(
        "--profile",
        metavar="NAME",
        help="what the style likes: lead line, country double stops or classical; "
        "default the document's own, else lead line",
    )
    group.add_argument(
        "--picking",
        metavar="NAME",
        help="the other hand: alternate pick, economy pick, pick and fingers, or fingers; "
        "default the document's own, else alternate pick",
    )
    group.add_argument(
        "--why",
        action="append",
        default=[],
        metavar="NOTE",
        help="tell why the easiest way plays this note there and not on another string; may be repeated",
    )
    group.add_argument("--use", type=int, metavar="NUMBER", help="keep the way of this number; 1 is the easiest")
    group.add_argument(
        "--out", type=Path, metavar="DIR", help="folder for a whole draft of the way kept; default the document's own"
    )
    group.add_argument(
        "--json", action="store_true", help="print the take document, with all ways under the key alternatives"
    )


def run(arguments: argparse.Namespace) -> int:
    """Show the ways to play the music and keep one if asked; returns 0."""
    wishes = wishes_from(arguments)
    if arguments.out is not None and arguments.use is None:
        raise SettingsError("--out says where, but not which way to keep", "Add --use 1, or another number.")
    if arguments.use is not None and arguments.out is None and not is_document(arguments.take):
        raise SettingsError(
            f"{arguments.take} is no take document to write into", "Add a folder, such as --out drafts."
        )

    from transcribe.cli.positions_page import ways_as_json, ways_page
    from transcribe.opening import open_music
    from transcribe.positions import find_positions, why_there

    with progress_bar(arguments.take.name) as report:
        document = open_music(arguments.take, choices_from(arguments), progress=report)
    found = find_positions(document, wishes)
    _refuse_nothing(found, arguments.take)
    if arguments.use is not None:
        found.document_with(arguments.use)  # a number that is not there is told before anything is printed
    why = [(note, why_there(document, note, wishes)) for note in arguments.why]
    written = _keep(arguments, document, found)
    if arguments.json:
        print(ways_as_json(found, arguments.use or 1))
        print(written, file=sys.stderr, end="\n" if written else "")
        return 0
    print(ways_page(found, stem_of(arguments.take)))
    for note, words in why:
        print(f"{note}: {words[0]}" + "".join(f"\n  {line}" for line in words[1:]) + "\n")
    print(written or _offer(arguments.take, found))
    return 0


def wishes_from(arguments: argparse.Namespace) -> Wishes:
    """Return what was asked of the places; raises SettingsError for words that mean nothing."""
    from transcribe.cli.neck_words import (
        bars_from_text,
        frets_from_text,
        lock_from_text,
        picking_from_text,
        profile_from_text,
        strings_from_text,
    )
    from transcribe.positions import Wishes

    if arguments.alternatives < 0:
        raise SettingsError(f"--alternatives {arguments.alternatives}", "Give 0 or more.")
    return Wishes(
        strings=strings_from_text(arguments.strings) if arguments.strings else None,
        frets=frets_from_text(arguments.fret_range) if arguments.fret_range else None,
        position=arguments.position,
        shape=arguments.shape,
        bars=bars_from_text(arguments.bars) if arguments.bars else None,
        locks=tuple(lock_from_text(words) for words in arguments.lock),
        unlocks=tuple(arguments.unlock),
        profile=profile_from_text(arguments.profile) if arguments.profile else None,
        picking=picking_from_text(arguments.picking) if arguments.picking else None,
        count=arguments.alternatives,
    )


def stem_of(take: Path) -> str:
    """Return a file's name without what tells its kind: ``lick`` for ``lick.take.json`` and ``lick.mid``."""
    return take.name.removesuffix(".take.json") if take.name.endswith(".take.json") else take.stem


def _refuse_nothing(found: Positions, take: Path) -> None:
    """Raise SettingsError when not one note of the music can lie where it was asked for, or anywhere on this neck."""
    from fingering.needs import OUTSIDE

    if not found.ways:
        return
    first = found.ways[0].fingering
    if not first.placements:
        raise SettingsError(
            f"no note of {take} lies on this neck",
            "Check the tuning and the frets of the guitar, and the octave of the music.",
        )
    outside = {doubt.id for doubt in first.doubts if doubt.why == OUTSIDE}
    if all(place.id in outside for place in first.placements):
        raise SettingsError(
            f"no note of {take} lies within the strings and frets asked for",
            "Ask for others; without such words the easiest way is shown.",
        )


def _offer(take: Path, found: Positions) -> str:
    if not found.ways:
        return "nothing written"
    number = min(2, len(found.ways))
    if is_document(take):
        return f"nothing written; --use {number} puts that way into {take}"
    return f"nothing written; --use {number} --out drafts keeps that way as a draft"


def is_document(take: Path) -> bool:
    """Return whether a file is a take document, by what it holds."""
    from transcribe.opening import kind_of_file

    return kind_of_file(take) == "take document"


def _keep(arguments: argparse.Namespace, before: TakeDocument, found: Positions) -> str:
    """Write the way that was chosen and return what to say about it; nothing when none was."""
    if arguments.use is None:
        return ""
    from transcribe.cli.keeping import keep_beside, keep_in_folder

    after = found.document_with(arguments.use)
    if arguments.out is not None:
        return keep_in_folder(arguments.take, stem_of(arguments.take), after, arguments.out)
    return keep_beside(arguments.take, stem_of(arguments.take), before, after)
