"""MusicXML to take documents: our own files whole, those of other programs as far as a guitar can play them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from transcribe.document.model import FORMAT, VERSION, Instrument, TakeDocument
from transcribe.document.musicxml_chords import chords_of
from transcribe.document.musicxml_complement import FIELD, completed
from transcribe.document.musicxml_file import SAVE_AS, musicxml_parts
from transcribe.document.musicxml_frame import Frame, frame_of, seconds_of, timing_of
from transcribe.document.musicxml_notes import Sounding, soundings
from transcribe.document.musicxml_part import MOST_NOTES, PartMusic, read_part
from transcribe.document.musicxml_signs import (
    bends_of_note,
    facts_of_note,
    fingers_of_note,
    numbers,
    played_values,
    signs_of_note,
)
from transcribe.document.musicxml_words import marked_by_words
from transcribe.document.read import document_from_json
from transcribe.document.text import take_to_json
from transcribe.errors import ReadError, TakesheetError

if TYPE_CHECKING:
    from lxml.etree import _Element

COMPLEMENT = f"identification/miscellaneous/miscellaneous-field[@name='{FIELD}']"
GUITAR = re.compile("guitar|gitarre|guitare|guitarra|chitarra", re.IGNORECASE)


def document_from_musicxml(
    data: bytes, *, name: str = "music.musicxml", instrument: Instrument | None = None
) -> TakeDocument:
    """Return the take document of a MusicXML file, plain or compressed.

    One part is read: the one with tab, else a guitar's, else the first with notes. Pitches are taken as they sound.
    ``instrument`` is the guitar to use where the file's tab tells no strings. Tied heads become one note, grace notes
    short ones before theirs; repeats are not played twice. What was not read is told as a doubt. Played times are those
    our own files tell, else those of the tempo, with swing where the file swings. A file of ours that nobody changed
    gives the document it was written from, pitch tracks and locks included.

    Raises ReadError for what is no MusicXML score, is damaged, or holds no notes with a pitch.

    References
    ----------
    MusicXML 4.0, W3C Community Group report, June 2021.
    """
    root, parts = musicxml_parts(data)
    plain = plain_take(root, parts, name=name, instrument=instrument)
    packed = root.findtext(COMPLEMENT)
    if packed is None:
        return document_from_json(plain)
    try:
        return document_from_json(completed(take_to_json(document_from_json(plain)), packed))
    except (ValueError, LookupError, TypeError, AttributeError, TakesheetError):  # not as we write it
        plain["doubts"].append({"why": "what this file keeps for takesheet alone is damaged and was not read"})
        return document_from_json(plain)


def plain_take(
    root: _Element, parts: Mapping[str, list[_Element]], *, name: str, instrument: Instrument | None = None
) -> dict[str, Any]:
    """Return what the signs of a file say, as values of the take format, without what it keeps for us alone."""
    doubts: list[dict[str, Any]] = []
    music = _chosen_part(root, parts, doubts)
    notes = soundings(music)
    frame = frame_of(root, music, notes, instrument, doubts)
    raw = _raw_notes(notes, music, frame, doubts)
    return {
        "format": FORMAT,
        "version": VERSION,
        "source": {"file": name},
        "instrument": frame.instrument,
        "rhythm": frame.rhythm,
        "key": frame.key,
        "vamp": frame.fields.get("vamp"),
        "about": frame.fields.get("about"),
        "chords": chords_of(music, frame.lead),
        "notes": raw,
        "doubts": [*doubts, *_own_doubts(root, notes, raw)],
        "tool": {},
    }


def _chosen_part(root: _Element, parts: Mapping[str, list[_Element]], doubts: list[dict[str, Any]]) -> PartMusic:
    """Return the part to read; the others are told in a doubt."""
    names = {part.get("id", ""): (part.findtext("part-name") or "").strip() for part in root.iter("score-part")}
    sounds = {part.get("id", ""): part.findtext(".//instrument-sound") or "" for part in root.iter("score-part")}
    read = {part: music for part, measures in parts.items() if (music := read_part(measures)).heads}
    if not read:
        raise ReadError("this MusicXML file holds no notes with a pitch", "Export the guitar's part.")

    def rank(part: str) -> tuple[bool, bool, bool]:
        label = f"{names.get(part, '')} {sounds.get(part, '')}"
        return not read[part].tab_staves, GUITAR.search(label) is None, "bass" in label.lower()

    chosen = min(read, key=rank)
    if len(read) > 1:
        label = names.get(chosen) or chosen
        doubts.append({"why": f"the file holds {len(read)} parts; only one was read: {label}"})
    if len(read[chosen].heads) > 2 * MOST_NOTES:
        raise ReadError(f"this part holds more than {MOST_NOTES} notes", SAVE_AS)
    return read[chosen]


def _raw_notes(
    notes: Sequence[Sounding], music: PartMusic, frame: Frame, doubts: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Return the notes as the take format writes them, with slides led to the notes they reach."""
    ids = _ids(notes)
    slides = _slides(notes, ids)
    words = marked_by_words(music, notes)
    raw = []
    for index, note in enumerate(notes):
        facts = next((facts for element in note.elements if (facts := facts_of_note(element))), {})
        onset_s, offset_s = seconds_of(note, frame)
        told: dict[str, Any] = {"id": ids[index], "onset_s": onset_s, "offset_s": offset_s, "midi": note.midi}
        told |= {"attack": "slide" if ids[index] in slides.values() else "picked"} | words[index]
        for element in note.elements:
            told |= fingers_of_note(element) | signs_of_note(element)
        told |= _place(note, frame, ids[index], told, doubts)
        head_s = float(note.head_length) * frame.beat_s
        bends = [bend for element in note.elements for bend in bends_of_note(element, onset_s, head_s)]
        told["bends"] = _with_played_bends(bends, facts if frame.played else {})
        if any("slide" in signs_of_note(element) for element in note.last_elements):
            told |= {"slide": next(s["slide"] for e in note.last_elements if "slide" in (s := signs_of_note(e)))}
        if ids[index] in slides:
            told["slide"] = {"to": slides[ids[index]]}
        told |= timing_of(note, frame) | played_values(facts)
        _tell_slide(told, facts)
        raw.append(told)
    _name_slides(raw)
    return raw


def _ids(notes: Sequence[Sounding]) -> list[str]:
    """Names of the notes: their own where they have one, else n1, n2 and so on."""
    told = {note.id_told for note in notes}
    ids: dict[str, None] = {}
    fresh = 0
    for note in notes:
        name = note.id_told
        while name is None or name in ids or (note.id_told is None and name in told):
            fresh += 1
            name = f"n{fresh}"
        ids[name] = None
    return list(ids)


def _slides(notes: Sequence[Sounding], ids: Sequence[str]) -> dict[str, str]:
    """Which note each slide leads to: starts and stops of one number pair up in order of time."""
    marks: list[tuple[Fraction, bool, str, str]] = []
    for note, name in zip(notes, ids, strict=True):
        for elements, kind, at in ((note.last_elements, "start", note.end), (note.elements, "stop", note.start)):
            for element in elements:
                for sign in (*element.iterfind("notations/slide"), *element.iterfind("notations/glissando")):
                    if sign.get("type") == kind:
                        number = f"{sign.tag} {element.findtext('staff')} {sign.get('number', '1')}"
                        marks.append((at if kind == "stop" else note.start, kind == "start", number, name))
    found: dict[str, str] = {}
    waiting: dict[str, str] = {}
    for _, starts, number, name in sorted(marks, key=lambda mark: mark[:2]):
        if starts:
            waiting[number] = name
        elif number in waiting and waiting[number] != name:
            found[waiting.pop(number)] = name
    return found


def _place(
    note: Sounding, frame: Frame, name: str, told: Mapping[str, Any], doubts: list[dict[str, Any]]
) -> dict[str, Any]:
    """Return string and fret, and the pitch they give where the file's notation is an octave off."""
    if note.place is None:
        return {}
    string, fret = note.place
    strings = frame.instrument["open_strings_midi"]
    if string > len(strings):
        doubts.append({"note": name, "why": f"the file puts it on string {string}, which the guitar has not"})
        return {}
    placed = {"string": string, "fret": fret}
    sounding = strings[string - 1] + frame.instrument["capo"] + fret
    if told.get("harmonic", "none") != "none" or sounding == note.midi or told.get("mute") == "dead":
        return placed
    if (sounding - note.midi) % 12 == 0 and 0 <= sounding <= 127:
        return {**placed, "midi": sounding}
    doubts.append(
        {"note": name, "why": f"the file's tab (string {string}, fret {fret}) is another pitch than its note"}
    )
    return {}


def _with_played_bends(bends: list[dict[str, Any]], facts: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the bends with the times and cents that were measured, where the file tells them for each."""
    times, cents = numbers(facts.get("bend times s", "")), numbers(facts.get("bend cents", ""))
    if len(times) != 3 * len(bends) or len(cents) != 2 * len(bends):
        return bends
    return [
        bend
        | dict(zip(("start_s", "reach_s", "end_s"), times[3 * index : 3 * index + 3], strict=True))
        | dict(zip(("target_cents", "reached_cents"), cents[2 * index : 2 * index + 2], strict=True))
        for index, bend in enumerate(bends)
    ]


def _tell_slide(told: dict[str, Any], facts: Mapping[str, str]) -> None:
    """Add kind and travel of a slide where the file tells them."""
    kind, _, cents = facts.get("slide", "").partition(" ")
    slide = told.get("slide")
    if slide and numbers(cents) and (kind in ("legato", "shift")) == ("to" in slide):
        slide |= {"kind": kind, "cents": numbers(cents)[0]}


def _name_slides(raw: Sequence[dict[str, Any]]) -> None:
    """Slides that say no kind are legato: the note they reach is not picked again."""
    by_id = {note["id"]: note for note in raw}
    for note in raw:
        slide = note.get("slide")
        if slide and "to" in slide and "kind" not in slide:
            slide["kind"] = "legato"
            slide["cents"] = 100.0 * (by_id[slide["to"]]["midi"] - note["midi"])


def _own_doubts(root: _Element, notes: Sequence[Sounding], raw: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Doubts that the file itself tells: of the take in its fields, of a note in its footnote."""
    found: list[dict[str, Any]] = [
        {"why": field.text}
        for field in root.iterfind("identification/miscellaneous/miscellaneous-field[@name='doubt']")
        if field.text
    ]
    for note, told in zip(notes, raw, strict=True):
        for element in note.elements:
            for why in (element.findtext("footnote") or "").splitlines():
                if why.strip():
                    found.append({"note": told["id"], "why": why})
    return found
