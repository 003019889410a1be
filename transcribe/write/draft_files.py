"""All files of one draft, as bytes: the list of what `draft` writes."""

from __future__ import annotations

import json
from collections.abc import Sequence

from transcribe.document.model import TakeDocument
from transcribe.document.read import document_from_json
from transcribe.document.text import document_bytes
from transcribe.score.build import build_score
from transcribe.write.midi import midi_bytes
from transcribe.write.musicxml import musicxml_bytes
from transcribe.write.text_tab import text_tab

FILE_TAB_COLUMNS = 100  # width of the tab in the file; the terminal's copy is wrapped to the terminal


def draft_files(document: TakeDocument, *, title: str, also: Sequence[str] = ()) -> dict[str, bytes]:
    """Return the draft's files, by the end of their names; ``also`` names more formats: "jams".

    All follow from the take document as it is written, so that reading it again gives the same files. Raises
    MissingExtraError for a format whose package is not installed.
    """
    written = document_bytes(document)
    document = document_from_json(json.loads(written))
    score = build_score(document, title=title)
    files = {
        ".take.json": written,
        ".tab.txt": text_tab(score, width=FILE_TAB_COLUMNS).encode("utf-8"),
        ".musicxml": musicxml_bytes(score, document),
        ".mid": midi_bytes(document),
    }
    if "jams" in also:
        from transcribe.write.jams import jams_bytes

        files[".jams"] = jams_bytes(document, title=title)
    return files
