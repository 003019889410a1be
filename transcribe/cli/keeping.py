"""Writing a changed document: into the file it came from, or as a whole draft into another folder."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from transcribe.cli.corrections import refuse_to_lose_corrections
from transcribe.document.model import TakeDocument
from transcribe.document.text import document_bytes
from transcribe.errors import MissingExtraError, TakesheetError, WriteError
from transcribe.write.draft_files import draft_files
from transcribe.write.files import write_together

DOCUMENT = ".take.json"
ALSO = ("jams",)  # formats that a draft has when they were asked for


def keep_in_folder(source: Path, stem: str, document: TakeDocument, folder: Path) -> str:
    """Write a whole draft into a folder and return a line that says so.

    Raises WriteError rather than writing over the file it was read from (unless that is the document itself) or over
    another document that a person corrected.
    """
    files = {f"{stem}{ending}": data for ending, data in draft_files(document, title=stem).items()}
    goal = folder / f"{stem}{DOCUMENT}"
    own = goal.exists() and goal.samefile(source)
    for name in files:
        path = folder / name
        if not own and path.exists() and path.samefile(source):
            raise WriteError(f"{path} is the file that was read, and would be lost", "Choose another --out folder.")
    if not own:
        refuse_to_lose_corrections(goal, choosing=True)
    write_together(folder, files)
    return f"written: {folder / stem}{', '.join(name.removeprefix(stem) for name in files)}"


def keep_beside(path: Path, stem: str, before: TakeDocument, after: TakeDocument) -> str:
    """Write a changed document into its own file, renew what stands beside it, and return lines that say what was done.

    One function for every change of a document: another fingering, locks set or freed.
    """
    renewed = renewed_beside(path, stem, before, after)
    files = {path.name: document_bytes(after), **renewed.files}
    write_together(path.parent, files, elsewhere="Name another folder with --out")
    told = [f"written: {', '.join(str(path.with_name(name)) for name in files)}"]
    if renewed.left:
        told.append(f"left as they are, because they are not what the document gave before: {', '.join(renewed.left)}")
    if renewed.sheets:
        told.append(f"sheets of the document as it was, to be made again with sheet: {', '.join(renewed.sheets)}")
    return "\n".join(told)


@dataclass(frozen=True, slots=True)
class Renewed:
    """The files beside a document, after a change of it, by name."""

    files: Mapping[str, bytes]  # made anew
    left: tuple[str, ...]  # not what the document gave before, so somebody's work
    sheets: tuple[str, ...]  # of the document as it was, with options that no file tells


def renewed_beside(path: Path, stem: str, before: TakeDocument, after: TakeDocument) -> Renewed:
    """Return what becomes of the draft's files beside a document: tab, MusicXML, MIDI, JAMS.

    Each is made anew as long as it is what the document before would give; one that somebody changed is left alone,
    and so is a JAMS file where that package is missing.
    """
    also = [name for name in ALSO if path.with_name(f"{stem}.{name}").is_file()]
    stale: list[str] = []
    left: list[str] = []
    for ending, old in _other_files(before, stem, also).items():
        beside = path.with_name(f"{stem}{ending}")
        if beside.is_file():
            (stale if beside.read_bytes() == old else left).append(ending)
    new = _other_files(after, stem, also) if stale else {}
    unmade = [f".{name}" for name in also if f".{name}" not in (*stale, *left)]
    sheets = [beside.name for beside in sorted(path.parent.iterdir()) if is_sheet(beside.name, stem)]
    return Renewed(
        {f"{stem}{ending}": new[ending] for ending in stale if ending in new},
        tuple(f"{stem}{ending}" for ending in (*left, *unmade)),
        tuple(sheets),
    )


def is_sheet(name: str, stem: str) -> bool:
    """Return whether a file's name is that of a sheet of this document.

    >>> is_sheet("lick.page2.png", "lick"), is_sheet("lick.pdf", "lick"), is_sheet("other.pdf", "lick")
    (True, True, False)
    """
    return re.fullmatch(re.escape(stem) + r"\.(pdf|svg|page\d+\.png)", name) is not None


def _other_files(document: TakeDocument, stem: str, also: Sequence[str]) -> dict[str, bytes]:
    """Return the draft's other files; none when the document cannot be written as notation."""
    for wanted in (also, ()):
        try:
            files = draft_files(document, title=stem, also=wanted)
        except MissingExtraError:
            continue
        except TakesheetError:
            return {}
        return {ending: data for ending, data in files.items() if ending != DOCUMENT}
    return {}
