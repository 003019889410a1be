"""The notation library in a small JavaScript runtime: a plan goes in, outlines of heads, signs and glyphs come out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from transcribe.errors import MissingExtraError, WriteError

LIBRARY = "vexflow-bravura.js"  # VexFlow 4.2.5, MIT, with outlines of the Bravura font, SIL OFL 1.1: licences beside it
OURS = "engine.js"
LONGEST_ERROR = 160  # characters; the runtime shows the whole library in one line
STAND_INS = "var console = {log() {}, warn() {}, error() {}};"


def run(plan: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the library draws for a plan (see engine.js): shapes as path text with their boxes.

    Raises MissingExtraError when the runtime is not installed, WriteError with one short line when drawing fails.
    """
    try:
        import quickjs
    except ImportError as missing:
        raise MissingExtraError(
            "the engraver's JavaScript runtime is not installed", "Install it: pip install quickjs-ng"
        ) from missing
    here = files("transcribe.write.engraver")
    context = quickjs.Context()
    try:
        context.eval(STAND_INS)
        for name in (LIBRARY, OURS):
            context.eval((here / name).read_text(encoding="utf-8"))
        drawn: dict[str, Any] = json.loads(context.get("draw")(json.dumps(plan)))
    except quickjs.JSException as failed:
        raise WriteError(
            f"the notation library could not draw the sheet: {shortened(str(failed))}",
            "Check the take document's bars and notes; the text tab and MusicXML do not need this library.",
        ) from None
    return drawn


def shortened(message: str) -> str:
    """Return the first line of an error, cut where the runtime would print the library's source.

    >>> shortened("RangeError: no such key\\n    at draw (<input>:2)")
    'RangeError: no such key'
    """
    first = message.strip().split("\n", 1)[0].strip()
    return first if len(first) <= LONGEST_ERROR else first[: LONGEST_ERROR - 1].rstrip() + "…"
