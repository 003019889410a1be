"""What a take holds beyond the signs of its MusicXML file: measured pitch tracks, locks, where it came from.

MusicXML 4.0 has signs for what a player reads, ``play`` for how a note sounds, and ``miscellaneous-field`` for kinds of
metadata that it has no element for. What none of its elements tells stands in one such field, named for the take
format: the difference between the take and what its signs alone read as, as JSON, deflated (RFC 1951) in Base64
(RFC 4648).

Another program may change the file and keep the field. Each part of it therefore says what the signs read as when it
was written; where they read otherwise, the signs are believed.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import zlib
from collections.abc import Mapping
from typing import Any

from transcribe.document.model import FORMAT

FIELD = FORMAT  # its name in the file
LARGEST_BYTES = 64 * 2**20  # unpacked; an hour of pitch tracks stays below this
UNGUARDED = ("source", "tool", "shapes", "contour")  # no sign of the file tells anything of these
MEASURED = ("string_weights",)  # of a note: hold as long as it is the same pitch

Json = dict[str, Any]


def packed_complement(take: Mapping[str, Any], plain: Mapping[str, Any]) -> str | None:
    """Return the field for a take, given what its file's signs alone read as; None when they tell it all.

    Both are values of the take format as ``take_to_json`` gives them.
    """
    before = {note["id"]: note for note in plain["notes"]}
    notes, missing = {}, {}
    for note in take["notes"]:
        told = before.get(note["id"])
        if told is None:
            missing[note["id"]] = note
        elif changed := _changed(note, told):
            notes[note["id"]] = {"seen": _digest(told), "keys": changed}
    top = {
        key: {"seen": _digest(plain.get(key)), "value": value}
        for key, value in take.items()
        if key != "notes" and (key not in plain or value != plain[key])
    }
    order = [note["id"] for note in take["notes"]]
    found: Json = {"take": top, "notes": notes, "missing": missing}
    if order != list(before):
        found |= {"order": order, "seen": _digest(plain["notes"])}
    if not top and not notes and not missing and "order" not in found:
        return None
    packer = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    data = packer.compress(_text(found).encode("utf-8", "surrogatepass")) + packer.flush()
    return base64.b64encode(data).decode("ascii")


def completed(plain: Mapping[str, Any], packed: str) -> Json:
    """Return what the signs read as, with what the field adds as far as both still agree.

    Raises ValueError for a field that is damaged or not of this form.
    """
    told = _unpacked(packed)
    added: Json = {}
    for key, entry in _table(told, "take").items():
        if key in UNGUARDED or entry["seen"] == _digest(plain.get(key)):
            added[key] = entry["value"]
    notes = [_note(note, _table(told, "notes").get(note["id"])) for note in plain["notes"]]
    whole = "order" in told and told.get("seen") == _digest(plain["notes"])
    if whole:
        by_id = {**{note["id"]: note for note in notes}, **_table(told, "missing")}
        notes = [by_id[name] for name in told["order"]]
    return _fitting({**plain, **added, "notes": notes})


def _changed(value: Mapping[str, Any], plain: Mapping[str, Any]) -> Json:
    gone = {key: None for key in plain if key not in value}
    return gone | {key: item for key, item in value.items() if key not in plain or item != plain[key]}


def _note(note: Mapping[str, Any], entry: Any) -> Json:
    if entry is None:
        return dict(note)
    keys = entry["keys"]
    if entry["seen"] != _digest(note):  # changed since: what was measured holds, what was decided may not
        same_pitch = keys.get("midi", note["midi"]) == note["midi"]
        return {**note, **{key: keys[key] for key in MEASURED if key in keys and same_pitch}}
    return {**note, **keys}


def _fitting(take: Json) -> Json:
    """Leave out what names notes that the file no longer has."""
    known = {note["id"] for note in take["notes"]}
    contour = take.get("contour")
    if contour:
        take["contour"] = {**contour, "tracks": [track for track in contour["tracks"] if track["note"] in known]}
    take["shapes"] = [span for span in take.get("shapes") or [] if {span["first"], span["last"]} <= known]
    return take


def _digest(value: Any) -> str:
    return hashlib.sha256(_text(value).encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"), sort_keys=False)


def _table(told: Json, name: str) -> Mapping[str, Any]:
    table = told.get(name) or {}
    if not isinstance(table, dict):
        raise ValueError(f"{name} is no table")
    return table


def _unpacked(packed: str) -> Json:
    try:
        data = base64.b64decode("".join(packed.split()), validate=True)
        unpacker = zlib.decompressobj(-zlib.MAX_WBITS)
        text = unpacker.decompress(data, LARGEST_BYTES)
        told = json.loads(text.decode("utf-8", "surrogatepass"))
    except (binascii.Error, zlib.error, UnicodeError, RecursionError) as error:
        raise ValueError(str(error)) from error
    if not unpacker.eof or not isinstance(told, dict):
        raise ValueError("it is cut short")
    return told
