"""MusicXML files to an element tree: plain or compressed, partwise or timewise, with nothing fetched or expanded."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING

from transcribe.errors import ReadError

if TYPE_CHECKING:
    from lxml.etree import _Element

LARGEST_BYTES = 64 * 2**20  # a thousand pages of orchestra stay below this
CONTAINER = "META-INF/container.xml"  # MusicXML 4.0, compressed .MXL files
SAVE_AS = "Save the score as MusicXML (.musicxml or .mxl) in the program that wrote it."


def musicxml_parts(data: bytes) -> tuple[_Element, dict[str, list[_Element]]]:
    """Return the root of a MusicXML file and its measures by part id, in order.

    Nothing outside the file is read: no network, no schema, no entities. Raises ReadError for what is no MusicXML
    score, is damaged, or is larger than 64 MB unpacked.
    """
    root = _parsed(_unpacked(data) if data[:2] == b"PK" else data)
    return root, parts_of(root)


def parts_of(root: _Element) -> dict[str, list[_Element]]:
    """Return the measures of a score by part id, in order; raises ReadError for what is no MusicXML score."""
    for element in root.iter():  # some programs write the elements in a namespace
        if isinstance(element.tag, str) and element.tag.startswith("{"):
            element.tag = element.tag.rpartition("}")[2]
    if root.tag == "score-partwise":
        return {part.get("id", ""): part.findall("measure") for part in root.iterfind("part")}
    if root.tag == "score-timewise":
        parts: dict[str, list[_Element]] = {}
        for measure in root.iterfind("measure"):
            for part in measure.iterfind("part"):
                part.attrib.update({key: value for key, value in measure.attrib.items() if key != "id"})
                parts.setdefault(part.get("id", ""), []).append(part)
        return parts
    raise ReadError(f"this is XML, but no MusicXML score: it begins with <{root.tag}>", SAVE_AS)


def _parsed(data: bytes) -> _Element:
    from lxml import etree

    if len(data) > LARGEST_BYTES:
        raise ReadError(f"this file is larger than {LARGEST_BYTES >> 20} MB", "Export the guitar's part alone.")
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False, remove_comments=True, remove_pis=True
    )
    try:
        return etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise ReadError(f"this is no whole XML file: {error.msg}", SAVE_AS) from error


def _unpacked(data: bytes) -> bytes:
    """Return the score inside a compressed file: the one its container names first, or its only XML file."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = archive.namelist()
            wanted = None
            if CONTAINER in names:
                found = _parsed(_member(archive, CONTAINER)).find(".//{*}rootfile")
                wanted = None if found is None else found.get("full-path")
            if wanted is None:
                scores = [name for name in names if name.endswith((".xml", ".musicxml")) and "META-INF" not in name]
                wanted = scores[0] if scores else None
            if wanted not in names:
                raise ReadError("this compressed file holds no MusicXML score", SAVE_AS)
            return _member(archive, wanted)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise ReadError(f"this compressed file cannot be unpacked: {error}", SAVE_AS) from error


def _member(archive: zipfile.ZipFile, name: str) -> bytes:
    """Return one file of an archive, read no further than the largest size allowed."""
    import zlib

    try:
        with archive.open(name) as member:
            data = member.read(LARGEST_BYTES + 1)
    except zlib.error as error:
        raise ReadError(f"this compressed file is damaged: {error}", SAVE_AS) from error
    if len(data) > LARGEST_BYTES:
        raise ReadError(f"this file is larger than {LARGEST_BYTES >> 20} MB", "Export the guitar's part alone.")
    return data
