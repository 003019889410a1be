"""A draft is never written over what a person corrected."""

from __future__ import annotations

import json
from pathlib import Path

from transcribe.errors import WriteError


def refuse_to_lose_corrections(
    path: Path, elsewhere: str = "Choose another --out folder", *, choosing: bool = False
) -> None:
    """Raise WriteError when an earlier document at ``path`` holds what a person fixed or chose, or is none of ours.

    ``choosing``: a place on the neck is being chosen now, so that one chosen before may go.
    """
    if not path.exists():
        return
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        spans = [*data.get("notes", []), *(data.get("chords") or [])]
        corrected = bool(data.get("locked")) or any(span.get("locked") for span in spans)
        settings = (data.get("tool") or {}).get("settings") or {}
        chosen = not choosing and settings.get("place") == "chosen"
    except (ValueError, AttributeError, TypeError, OSError):
        corrected, chosen = True, False  # not a document we can read: somebody's file all the same
    if corrected or chosen:
        holds = "corrections made by a person, or is no draft of ours"
        raise WriteError(
            f"{path} holds {holds if corrected else 'a place on the neck that a person chose'}",
            f"{elsewhere}, or move that file away first.",
        )
