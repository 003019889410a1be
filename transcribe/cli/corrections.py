"""A draft is never written over what a person corrected."""

from __future__ import annotations

import json
from pathlib import Path

from transcribe.errors import WriteError


def refuse_to_lose_corrections(path: Path, elsewhere: str = "Choose another --out folder") -> None:
    """Raise WriteError when an earlier document at ``path`` holds fields fixed by a person, or is none of ours."""
    if not path.exists():
        return
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        spans = [*data.get("notes", []), *(data.get("chords") or [])]
        corrected = bool(data.get("locked")) or any(span.get("locked") for span in spans)
    except (ValueError, AttributeError, TypeError, OSError):
        corrected = True  # not a document we can read: somebody's file all the same
    if corrected:
        raise WriteError(
            f"{path} holds corrections made by a person, or is no draft of ours",
            f"{elsewhere}, or move that file away first.",
        )
