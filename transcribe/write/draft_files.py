"""All files of one draft, as bytes: the list of what `draft` writes."""

from __future__ import annotations

from transcribe.document.model import TakeDocument
from transcribe.document.text import document_bytes
from transcribe.score.build import build_score
from transcribe.write.midi import midi_bytes
from transcribe.write.musicxml import musicxml_bytes
from transcribe.write.text_tab import text_tab

FILE_TAB_COLUMNS = 100  # width of the tab in the file; the terminal's copy is wrapped to the terminal


def draft_files(document: TakeDocument, *, title: str) -> dict[str, bytes]:
    """Return the draft's files, by the end of their names."""
    score = build_score(document, title=title)
    return {
        ".take.json": document_bytes(document),
        ".tab.txt": text_tab(score, width=FILE_TAB_COLUMNS).encode("utf-8"),
        ".musicxml": musicxml_bytes(score),
        ".mid": midi_bytes(document),
    }
