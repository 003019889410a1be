"""Any music a command is given, opened by what the file holds: a take document, MIDI, MusicXML or a recording."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Literal

from transcribe.choices import TakeChoices
from transcribe.document.model import Instrument, TakeDocument
from transcribe.errors import ReadError

Kind = Literal["take document", "midi", "musicxml", "recording"]
Progress = Callable[[str, float], None]  # stage in words, share done (0 to 1)
HEAD_BYTES = 4096
LARGEST_BYTES = 64 * 2**20  # of a MIDI or MusicXML file
READS = "Give a recording, a take document (.take.json), a MIDI file or a MusicXML file."


def open_music(path: Path, choices: TakeChoices | None = None, *, progress: Progress | None = None) -> TakeDocument:
    """Return the take document of a file: read, turned from MIDI or MusicXML, or drafted from a recording.

    The file is known by its first bytes, not by its name. The guitar of ``choices`` is that of music that names none;
    key, vamp and chords told there are those of any MIDI or MusicXML file. What its notes mean is told where the file
    does not say. Raises ReadError for a file that is none of these.
    """
    kind = kind_of_file(path)
    choices = choices or TakeChoices()
    if kind == "take document":
        from transcribe.document.read import read_document

        return read_document(path)
    if kind == "recording":
        from transcribe.pipeline import draft_take

        return draft_take(path, choices, progress=progress)
    data = _bytes(path)
    try:
        document = _from_score(kind, data, path.name, choices)
    except ReadError as error:
        raise type(error)(f"{path}: {error.found}", error.mend) from error
    return _told(document, choices)


def _told(document: TakeDocument, choices: TakeChoices) -> TakeDocument:
    """Return the document with what a person said of its harmony, and what its notes mean unless the file tells it."""
    from transcribe.document.analyse import analyse, is_analysed, with_backing_told

    told = choices.key is not None or choices.vamp is not None or bool(choices.chords)
    if choices.key is not None:
        document = replace(document, key=choices.key)
    document = with_backing_told(document, choices.vamp, choices.chords)
    return document if is_analysed(document) and not told else analyse(document)


def _from_score(kind: Kind, data: bytes, name: str, choices: TakeChoices) -> TakeDocument:
    if kind == "midi":
        from transcribe.document.from_midi import document_from_midi

        return document_from_midi(data[data.index(b"MThd") :], name=name, instrument=instrument_of(choices))
    from transcribe.document.from_musicxml import document_from_musicxml

    return document_from_musicxml(data, name=name, instrument=instrument_of(choices))


def kind_of_file(path: Path) -> Kind:
    """Return what a file holds; raises ReadError when it cannot be opened or is plainly something else."""
    head = _head(path)
    kind = kind_of_bytes(head)
    if kind is not None:
        return kind
    if not head:
        raise ReadError(f"{path} is empty", READS)
    if _is_text(head):
        raise ReadError(f"{path} is text of another kind", READS)
    return "recording"


def kind_of_bytes(head: bytes) -> Kind | None:
    """Return the kind of music the first bytes of a file speak of; None when they tell nothing.

    >>> kind_of_bytes(b"MThd"), kind_of_bytes(b'{"format": "takesheet/take"'), kind_of_bytes(b"OggS")
    ('midi', 'take document', None)
    """
    if head.startswith(b"MThd") or (head.startswith(b"RIFF") and head[8:12] == b"RMID" and b"MThd" in head):
        return "midi"
    text = _text(head).lstrip("\ufeff \t\r\n")
    if text.startswith("{"):
        return "take document"
    if text.startswith("<") or (head.startswith(b"PK\x03\x04") and b"META-INF" in head):
        return "musicxml"
    return None


def instrument_of(choices: TakeChoices) -> Instrument:
    """Return the guitar a person described."""
    board = choices.fretboard
    return Instrument(
        open_strings_midi=board.open_midi,
        frets=board.frets,
        capo=board.capo,
        scale_length_mm=board.scale_length_mm,
        reference_hz=choices.reference_hz,
    )


def _text(head: bytes) -> str:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return head.decode("utf-16", errors="replace")
    return head.decode("utf-8", errors="replace")


def _is_text(head: bytes) -> bool:
    """True for bytes that are all readable characters: no sound file begins so."""
    return all(char.isprintable() or char in "\t\r\n\f" for char in _text(head).strip("\ufeff\ufffd"))


def _head(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise ReadError(f"{path} is a folder", READS)
        if path.exists() and not path.is_file():
            raise ReadError(f"{path} is no file on a disk", READS)
        with path.open("rb") as file:
            return file.read(HEAD_BYTES)
    except FileNotFoundError as error:
        raise ReadError(f"no such file: {path}", "Check the name and the folder.") from error
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else error
        raise ReadError(f"{path} cannot be read: {why}", "Check the name and your rights.") from error


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise ReadError(f"{path} is too large", "Export the guitar's part alone, or a shorter passage.")
        return path.read_bytes()
    except OSError as error:
        raise ReadError(
            f"{path} cannot be read: {error.strerror or error}", "Check the name and your rights."
        ) from error
