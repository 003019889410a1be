"""Writing a changed document: into the file it came from, or as a whole draft into another folder."""

from __future__ import annotations

from pathlib import Path

from transcribe.cli.corrections import refuse_to_lose_corrections
from transcribe.document.model import TakeDocument
from transcribe.document.text import document_bytes
from transcribe.errors import TakesheetError, WriteError
from transcribe.write.draft_files import draft_files
from transcribe.write.files import write_together

DOCUMENT = ".take.json"


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
        refuse_to_lose_corrections(goal)
    write_together(folder, files)
    return f"written: {folder / stem}{', '.join(name.removeprefix(stem) for name in files)}"


def keep_beside(path: Path, stem: str, before: TakeDocument, after: TakeDocument) -> str:
    """Write a changed document into its own file and return lines that say what was done.

    The draft's other files beside it are made anew as long as they are what the document before would give; one that
    somebody changed is left alone.
    """
    files = {path.name: document_bytes(after)}
    left = []
    for ending, old in _other_files(before, stem).items():
        beside = path.with_name(f"{stem}{ending}")
        if not beside.is_file():
            continue
        if beside.read_bytes() == old:
            files[beside.name] = b""
        else:
            left.append(beside.name)
    new = _other_files(after, stem) if len(files) > 1 else {}
    files.update({f"{stem}{ending}": data for ending, data in new.items() if f"{stem}{ending}" in files})
    write_together(path.parent, files, elsewhere="Name another folder with --out")
    told = f"written: {', '.join(str(path.with_name(name)) for name in files)}"
    if left:
        told += f"\nleft as they are, because they are not what the document gave before: {', '.join(left)}"
    return told


def _other_files(document: TakeDocument, stem: str) -> dict[str, bytes]:
    """Return the draft's other files; none when the document cannot be written as notation."""
    try:
        files = draft_files(document, title=stem)
    except TakesheetError:
        return {}
    return {ending: data for ending, data in files.items() if ending != DOCUMENT}
