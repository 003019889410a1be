"""``takesheet score``: how far a draft agrees with a reference."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

EXAMPLE = """\
example:
  takesheet score drafts/monday-lick.take.json corrected/monday-lick.take.json
"""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add ``score`` to the command line."""
    parser = subparsers.add_parser(
        "score",
        help="measure a draft against a reference",
        description="Measure a draft against a reference: notes, bends, slides, attacks, strings and rhythm, "
        "and whether its doubts stand where it is wrong.",
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("draft", type=Path, metavar="DRAFT", help="take document to be judged")
    parser.add_argument("truth", type=Path, metavar="TRUTH", help="take document known to be right")
    parser.add_argument("--json", action="store_true", help="print the scores for other programs")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the scores of a draft; returns 0."""
    from transcribe.document.read import read_document
    from transcribe.evaluate.takes import format_scores, score_takes, scores_to_json

    scores = score_takes(read_document(arguments.draft), read_document(arguments.truth))
    print(json.dumps(scores_to_json(scores), indent=2) if arguments.json else format_scores(scores))
    return 0
