"""A small reader of MusicXML and the official schema's judgement, to check our writer against.

The schema is musicxml_4_0.xsd of the W3C Music Notation Community Group (June 2021, W3C Community Final Specification
Agreement), as the PyPI package ``musicxml`` carries it. The reader follows the standard's rules for time: every note
without ``chord`` moves the cursor on by its duration, ``backup`` moves it back.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}

# What the schema imports: the attributes it uses of the xml and xlink namespaces (W3C), so that nothing is fetched.
IMPORTED = {
    "xml.xsd": (
        "http://www.w3.org/XML/1998/namespace",
        '<xs:attribute name="lang" type="xs:language"/><xs:attribute name="space" type="xs:NCName"/>',
    ),
    "xlink.xsd": (
        "http://www.w3.org/1999/xlink",
        "".join(
            f'<xs:attribute name="{name}" type="xs:string"/>'
            for name in ("href", "type", "role", "title", "show", "actuate")
        ),
    ),
}


class _Imports(etree.Resolver):
    def resolve(self, url, public_id, context):
        name = url.rpartition("/")[2]
        if name not in IMPORTED:
            return None
        namespace, attributes = IMPORTED[name]
        head = f'<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" targetNamespace="{namespace}">'
        return self.resolve_string(f"{head}{attributes}</xs:schema>", context)


@cache
def official_schema() -> etree.XMLSchema:
    package = find_spec("musicxml")
    assert package is not None
    folder = Path(package.submodule_search_locations[0]) / "generate_classes"
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Imports())
    return etree.XMLSchema(etree.parse(str(folder / "musicxml_4_0.xsd"), parser))


@dataclass(frozen=True)
class Head:
    """One note element with its place in time."""

    measure: str
    start: Fraction  # quarters from the start of its measure
    length: Fraction
    staff: int
    voice: str
    midi: int | None  # None for a rest
    element: etree._Element

    def text(self, path: str) -> str | None:
        found = self.element.find(path)
        return None if found is None else found.text

    def number(self, path: str) -> int | None:
        text = self.text(path)
        return None if text is None else int(text)


@dataclass(frozen=True)
class Sheet:
    root: etree._Element
    heads: tuple[Head, ...]
    lengths: dict[str, Fraction]  # quarters, by measure number; every voice was found to fill it

    def on(self, staff: int) -> list[Head]:
        """Sounding heads of a staff, in order."""
        return [head for head in self.heads if head.staff == staff and head.midi is not None]


def read_musicxml(data: bytes) -> Sheet:
    """Read a file that must be valid by the official schema, and whose voices must fill their measures."""
    root = etree.fromstring(data)
    schema = official_schema()
    assert schema.validate(root), str(schema.error_log)
    heads: list[Head] = []
    lengths: dict[str, Fraction] = {}
    divisions = 1
    for measure in root.iterfind("part/measure"):
        divisions = int(measure.findtext("attributes/divisions", str(divisions)))
        number = measure.get("number")
        found, reached = _measure(measure, number, divisions)
        heads += found
        ends = {}
        for head in found:
            key = head.staff, head.voice
            assert head.start == ends.get(key, 0) or head.element.find("chord") is not None, "a gap or an overlap"
            ends[key] = head.start + head.length
        assert set(ends.values()) == {reached}, f"voices of measure {number} end at {ends}"
        lengths[number] = reached
    return Sheet(root, tuple(heads), lengths)


def _measure(measure, number: str, divisions: int) -> tuple[list[Head], Fraction]:
    heads: list[Head] = []
    cursor = last_start = furthest = Fraction(0)
    for element in measure:
        length = Fraction(int(element.findtext("duration", "0")), divisions)
        if element.tag == "backup":
            cursor -= length
            assert cursor >= 0
        if element.tag != "note":
            continue
        start = last_start if element.find("chord") is not None else cursor
        heads.append(
            Head(
                number,
                start,
                length,
                int(element.findtext("staff")),
                element.findtext("voice"),
                _midi(element),
                element,
            )
        )
        cursor, last_start = start + length, start
        furthest = max(furthest, cursor)
    return heads, furthest


def _midi(element) -> int | None:
    pitch = element.find("pitch")
    if pitch is None:
        return None
    alter = int(pitch.findtext("alter", "0"))
    return 12 * (int(pitch.findtext("octave")) + 1) + STEPS[pitch.findtext("step")] + alter
