"""How a note was played, as a MusicXML ``play`` element: the numbers that no sign on the page tells.

The standard has ``other-play`` for "other types of playback", told by its type (MusicXML 4.0). Times are seconds from
the start of the take.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from transcribe.document.model import TakeNote
from transcribe.notes.note import Note
from transcribe.write.xml_text import NOT_XML

if TYPE_CHECKING:
    from lxml.etree import _Element


XML_NAME = re.compile("[A-Za-z_][A-Za-z0-9._-]*")  # of those that an xml:id may have, the plain ones


def add_play(element: _Element, take: TakeNote, *, played: bool) -> None:
    """Add the damping hand, and with ``played`` what was measured; nothing where there is nothing to tell."""
    from lxml.etree import SubElement

    note = take.note
    facts = played_facts(note) if played else {}
    if played and XML_NAME.fullmatch(take.id) is None:  # else the note element's own id tells it
        facts["name"] = take.id
    if played and take.position is not None:
        facts["position"] = str(take.position)
    if played and take.chord_degree:
        facts["degree of the chord"] = take.chord_degree
    if note.mute != "palm" and not facts:
        return
    play = SubElement(element, "play")
    if note.mute == "palm":
        SubElement(play, "mute").text = "palm"
    for name, text in facts.items():
        SubElement(play, "other-play", {"type": name}).text = NOT_XML.sub("", text)


def played_facts(note: Note) -> dict[str, str]:
    """Return what was measured of a note, by the name of each fact.

    >>> played_facts(Note("n1", 0.5, 1.0, 60))
    {'attack': 'unknown', 'sounds s': '0.5 1'}
    """
    facts = {"attack": note.attack, "sounds s": f"{_number(note.onset_s)} {_number(note.offset_s)}"}
    for name, value in (("cents", note.cents), ("level db", note.level_db), ("confidence", note.confidence)):
        if value is not None:
            facts[name] = _number(value)
    if note.bends:
        facts["bend times s"] = " ".join(
            f"{_number(bend.start_s)} {_number(bend.reach_s)} {_number(bend.end_s)}" for bend in note.bends
        )
        facts["bend cents"] = " ".join(
            f"{_number(bend.target_cents)} {_number(bend.reached_cents)}" for bend in note.bends
        )
    if note.slide:
        facts["slide"] = f"{note.slide.kind} {_number(note.slide.cents)}"
    if note.vibrato:
        facts["vibrato"] = f"{_number(note.vibrato.rate_hz)} Hz {_number(note.vibrato.extent_cents)} cents"
    return facts


def _number(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")
