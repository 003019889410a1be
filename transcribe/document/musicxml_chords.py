"""MusicXML harmony elements to the chords of a take."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from transcribe.document.musicxml_part import PartMusic

if TYPE_CHECKING:
    from lxml.etree import _Element

# Endings for files that tell a chord's kind alone (kind-value, MusicXML 4.0; the endings are common practice).
ENDINGS = {
    "major": "", "minor": "m", "augmented": "aug", "diminished": "dim", "dominant": "7", "major-seventh": "maj7",
    "minor-seventh": "m7", "diminished-seventh": "dim7", "augmented-seventh": "aug7", "half-diminished": "m7b5",
    "major-minor": "mMaj7", "major-sixth": "6", "minor-sixth": "m6", "dominant-ninth": "9", "major-ninth": "maj9",
    "minor-ninth": "m9", "dominant-11th": "11", "major-11th": "maj11", "minor-11th": "m11", "dominant-13th": "13",
    "major-13th": "maj13", "minor-13th": "m13", "suspended-second": "sus2", "suspended-fourth": "sus4", "power": "5",
}  # fmt: skip
SIGNS = {-1: "b", 0: "", 1: "#"}
SHAPE = re.compile(r"(.+) shape(?: at fret (\d{1,2}))?")


def chords_of(music: PartMusic, lead: Fraction) -> list[dict[str, Any]]:
    """Return the chords in order, each until the next or the end; places in quarters, ``lead`` after the part begins.

    A numeral or function at the place of a chord is its role; chords told as a role alone are left out.
    """
    found: dict[Fraction, dict[str, Any]] = {}
    roles: dict[Fraction, str] = {}
    for at, harmony in music.harmonies:
        role = _role(harmony)
        if role:
            roles[at] = role
        chord = _chord(harmony)
        if chord is not None:
            found[at] = chord
    places = sorted(found)
    chords = []
    for index, at in enumerate(places):
        following = places[index + 1] if index + 1 < len(places) else max(music.end, at + 1)
        told = {"start_beat": str(at - lead), "end_beat": str(following - lead), **found[at]}
        chords.append(told | ({"role": roles[at]} if at in roles else {}))
    return chords


def _chord(harmony: _Element) -> dict[str, Any] | None:
    root = harmony.find("root")
    kind = harmony.find("kind")
    if root is None or kind is None or (kind.text or "").strip() == "none":
        return None
    name = _note_name(root, "root")
    if not name:
        return None
    degrees = "".join(_degree(degree) for degree in harmony.iterfind("degree"))
    told = kind.get("text")
    ending = told if told is not None else ENDINGS.get((kind.text or "").strip(), "") + degrees
    chord: dict[str, Any] = {"symbol": name + ending}
    bass = harmony.find("bass")
    if bass is not None and _note_name(bass, "bass"):
        chord["over"] = _note_name(bass, "bass")
    shape = SHAPE.fullmatch((harmony.findtext("footnote") or "").strip())
    if shape is not None:
        chord["shape"] = shape[1]
        if shape[2] is not None:
            chord["fret"] = int(shape[2])
    return chord


def _note_name(element: _Element, kind: str) -> str:
    step = (element.findtext(f"{kind}-step") or "").strip()
    return step + _sign(element.findtext(f"{kind}-alter")) if step in tuple("ABCDEFG") else ""


def _degree(degree: _Element) -> str:
    value, kind = (degree.findtext("degree-value") or "").strip(), degree.findtext("degree-type")
    if not value.isdigit():
        return ""
    if kind == "subtract":
        return f"no{value}"
    sign = _sign(degree.findtext("degree-alter"))
    return f"{sign}{value}" if sign else f"add{value}"


def _sign(text: str | None) -> str:
    try:
        return SIGNS.get(round(float(text or "0")), "")
    except ValueError:
        return ""


def _role(harmony: _Element) -> str | None:
    numeral = harmony.find("numeral/numeral-root")
    if numeral is not None:
        return numeral.get("text")
    function = harmony.findtext("function")
    return (function or "").strip() or None
