"""Is this JSON a take document? Says where it is not, and what belongs there instead."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from transcribe.document.model import FORMAT, VERSION
from transcribe.errors import DocumentError

SCHEMA_FILE = "take.schema.json"


@cache
def take_schema() -> Mapping[str, Any]:
    """Return the public JSON Schema (draft 2020-12) of the take document. Read it, never change it."""
    schema: dict[str, Any] = json.loads((files(__package__) / SCHEMA_FILE).read_text(encoding="utf-8"))
    return schema


def known_keys(definition: str) -> frozenset[str]:
    """Return the keys that the format names for one kind of object, such as ``note`` or ``bend``."""
    return frozenset(take_schema()["$defs"][definition]["properties"])


def check_document(data: Any) -> None:
    """Return nothing for JSON that is a whole take document.

    Raises DocumentError with the place and the rule: another format or version, a missing key, a wrong type or
    value, two notes of one id, a name that no note has.
    """
    _check_format(data)
    _check_numbers(data)
    _check_schema(data)
    _check_names(data)
    _check_guitar(data)


def _check_format(data: Any) -> None:
    if not isinstance(data, dict):
        raise DocumentError(
            "this is JSON, but no take document: it is not an object", f'A take document begins {{"format": "{FORMAT}"'
        )
    if "format" not in data:
        raise DocumentError('this is no take document: "format" is missing', f'Add "format": "{FORMAT}", "version": 1.')
    if data["format"] != FORMAT:
        raise DocumentError(
            f"this is no take document: its format is {_shown(data['format'])}", f'The format must be "{FORMAT}".'
        )
    version = data.get("version")
    if isinstance(version, bool) or not isinstance(version, int | float) or version != version // 1:
        what = '"version" is missing' if version is None else f'"version" is {_shown(version)}'
        raise DocumentError(f"{what} in this take document", f'Write "version": {VERSION}.')
    if version > VERSION:
        raise DocumentError(
            f"this was written by a newer takesheet: version {int(version)} of the format, this one knows {VERSION}",
            "Install a newer takesheet to read it.",
        )
    if version < VERSION:
        raise DocumentError(
            f"this is version {int(version)} of the format, older than any that was published",
            f"Draft the take again, or bring the file to version {VERSION} by hand.",
        )


def _check_numbers(data: Any) -> None:
    """Raise DocumentError for numbers that JSON cannot hold (RFC 8259, section 6) or a float cannot."""
    waiting = [("", data)]
    while waiting:
        where, value = waiting.pop()
        if isinstance(value, Mapping):
            waiting.extend((f"{where}.{key}" if where else str(key), item) for key, item in value.items())
        elif isinstance(value, list | tuple):
            if not all(type(item) is float and math.isfinite(item) for item in value):
                waiting.extend((f"{where}[{index}]", item) for index, item in enumerate(value))
        elif isinstance(value, int | float) and not -1e300 < value < 1e300:
            raise DocumentError(f"{where} is no usable number: {_shown(value)}", "Write a finite number, or null.")


@cache
def _validator() -> Callable[[Any], Any]:
    import fastjsonschema

    # It knows JSON Schema up to draft 7; the schema keeps to what draft 7 and draft 2020-12 share.
    validate: Callable[[Any], Any] = fastjsonschema.compile(dict(take_schema()), use_default=False)
    return validate


def _check_schema(data: dict[str, Any]) -> None:
    from fastjsonschema import JsonSchemaValueException

    try:
        _validator()(data)
    except JsonSchemaValueException as error:
        place = [int(part) if part.isdigit() else part for part in error.path[1:]]
        where = _where(place, data)
        if error.rule == "required":
            key = next(key for key in error.rule_definition if key not in error.value)
            rule = _rule_at([*place, key])
            missing = f"{where}: " if where else ""
            raise DocumentError(f'{missing}"{key}" is missing', f"Add {key}: {rule}.") from error
        raise DocumentError(
            f"{where} is {_shown(error.value)}", f"Write {where.rpartition('.')[2]} as {_rule_at(place)}."
        ) from error


def _check_names(data: Mapping[str, Any]) -> None:
    """Raise DocumentError when two notes share an id, or an id is named that no note has."""
    notes = data.get("notes") or []
    ids: dict[str, int] = {}
    for index, note in enumerate(notes):
        if note["id"] in ids:
            raise DocumentError(
                f'notes[{ids[note["id"]]}] and notes[{index}] have the same id "{note["id"]}"',
                "Give every note an id of its own.",
            )
        ids[note["id"]] = index

    def must_exist(where: str, name: Any, own: str | None = None) -> None:
        if name is not None and (name not in ids or name == own):
            said = "the note itself" if name == own else "which no note has"
            raise DocumentError(f'{where} is "{name}", {said}', "Name the id of another note, or write null.")

    for index, note in enumerate(notes):
        where = f"notes[{index}] ({note['id']})"
        tied = note.get("tie_to")
        must_exist(f"{where}.tie_to", tied, note["id"])
        if tied is not None and notes[ids[tied]]["onset_s"] <= note["onset_s"]:
            raise DocumentError(
                f'{where}.tie_to is "{tied}", which does not begin later', "Tie a note into one that follows it."
            )
        must_exist(f"{where}.slide.to", (note.get("slide") or {}).get("to"), note["id"])
    for index, shape in enumerate(data.get("shapes") or []):
        must_exist(f"shapes[{index}].first", shape["first"])
        must_exist(f"shapes[{index}].last", shape["last"])
    for index, doubt in enumerate(data.get("doubts") or []):
        must_exist(f"doubts[{index}].note", doubt.get("note"))
    seen: set[str] = set()
    for index, track in enumerate((data.get("contour") or {}).get("tracks") or []):
        must_exist(f"contour.tracks[{index}].note", track["note"])
        if track["note"] in seen:
            raise DocumentError(
                f'contour.tracks[{index}] is a second track for note "{track["note"]}"', "Keep one track a note."
            )
        seen.add(track["note"])


def _check_guitar(data: Mapping[str, Any]) -> None:
    """Raise DocumentError for a string that the instrument has not, or a capo beyond the neck."""
    instrument = data["instrument"]
    strings = len(instrument["open_strings_midi"])
    capo, frets = instrument.get("capo"), instrument.get("frets")
    if capo is not None and frets is not None and capo >= frets:
        raise DocumentError(
            f"instrument.capo is {capo} on a neck of {frets} frets", f"Write a capo from 0 to {frets - 1}."
        )
    for index, note in enumerate(data.get("notes") or []):
        string = note.get("string")
        if string is not None and string > strings:
            raise DocumentError(
                f"notes[{index}] ({note['id']}).string is {string}, on an instrument of {strings} strings",
                f"Write a string from 1 to {strings}, or null.",
            )


def _where(place: list[int | str], data: Any) -> str:
    """Return a place such as ``notes[2] (n3).bends[0].kind``; a note's id is told when it has one."""
    text = ""
    for position, part in enumerate(place):
        data = data[part] if isinstance(part, int) or part in data else None
        if isinstance(part, str):
            text += f".{part}" if text else part
            continue
        text += f"[{part}]"
        if position == 1 and place[0] == "notes" and isinstance(data, dict) and isinstance(data.get("id"), str):
            text += f" ({data['id']})"
    return text


def _rule_at(place: list[int | str]) -> str:
    """Return the schema's own words for what belongs at a place."""
    schema = take_schema()
    rule: Mapping[str, Any] = schema
    for part in place:
        rule = rule["items"] if isinstance(part, int) else rule["properties"][part]
        if "$ref" in rule:
            rule = schema["$defs"][rule["$ref"].rpartition("/")[2]]
    return str(rule["description"])


def _shown(value: Any, most: int = 60) -> str:
    """Return a value as JSON would write it, cut short."""
    try:
        text = json.dumps(value, ensure_ascii=False)
    except (TypeError, ValueError):
        text = repr(type(value).__name__)
    return text if len(text) <= most else text[: most - 1] + "…"
