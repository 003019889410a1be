"""Take documents from JSON and from files."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any, NoReturn

from fingering.solution import ShapeSpan
from transcribe.document.check import check_document, known_keys, take_schema
from transcribe.document.model import Instrument, Source, TakeDocument, TakeNote
from transcribe.document.read_chord import chords_from_json
from transcribe.document.read_note import located, note_from_json, number, number_or_none, unknown_keys
from transcribe.errors import DocumentError, ReadError
from transcribe.harmony.key import Key
from transcribe.notes.note import Contour, Doubt
from transcribe.rhythm.rhythm import Rhythm, RhythmReading, meter_from_text

LARGEST_BYTES = 256 * 2**20  # an hour of six strings read every 10 ms stays below 30 MB
DEFAULT_HOP_S = 0.01
NO_REASON = "no reason given"


def read_document(path: Path | str) -> TakeDocument:
    """Return the take document in a file.

    Raises ReadError for a file that cannot be opened, DocumentError with place and rule for one that breaks the
    format or is of a version we do not know.
    """
    data = _bytes_of(Path(path))
    try:
        return document_from_json(_json_of(data))
    except DocumentError as error:
        raise DocumentError(f"{path}: {error.found}", error.mend) from error


def document_from_json(data: Any) -> TakeDocument:
    """Return the take document that parsed JSON holds; keys the format does not name are kept.

    What is absent or null is taken as unmeasured. A bend without times spans its note; one without a size is read as
    a whole tone, with a doubt that says so. Raises DocumentError with place and rule.

    >>> note = {"id": "n1", "onset_s": 0.0, "offset_s": 0.5, "midi": 64}
    >>> head = {"format": "takesheet/take", "version": 1, "instrument": {"open_strings_midi": [64, 59]}}
    >>> document_from_json({**head, "notes": [note]}).notes[0].note.midi
    64
    """
    check_document(data)
    unknown = {key: value for key, value in data.items() if key not in _TOP_KEYS}
    raw_notes: list[Mapping[str, Any]] = data.get("notes") or []
    instrument = _instrument(data["instrument"])
    contours = _contours(data.get("contour"), raw_notes, unknown)
    doubts = [_doubt(raw) for raw in data.get("doubts") or []]
    notes: list[TakeNote] = []
    for index, raw in enumerate(raw_notes):
        with located(f"notes[{index}] ({raw['id']})"):
            note, guesses = note_from_json(raw, raw_notes, instrument, contours.get(raw["id"]))
        notes.append(note)
        doubts.extend(guess for guess in guesses if guess not in doubts)
    rhythm = _rhythm(data.get("rhythm"), notes, unknown)
    return TakeDocument(
        notes=tuple(notes),
        instrument=instrument,
        source=_source(data.get("source"), unknown),
        rhythm=rhythm,
        key=_key(data.get("key"), unknown),
        vamp=data.get("vamp"),
        chords=chords_from_json(data.get("chords") or (), rhythm, unknown),
        about=data.get("about"),
        about_sha256=data.get("about_sha256"),
        shapes=tuple(_shape(raw) for raw in data.get("shapes") or ()),
        doubts=tuple(doubts),
        locked=tuple(data.get("locked") or ()),
        tool=data.get("tool") or {},
        unknown=unknown,
    )


_TOP_KEYS = frozenset(take_schema()["properties"])


def _instrument(raw: Mapping[str, Any]) -> Instrument:
    plain = Instrument()
    capo = int(raw.get("capo") or 0)
    frets = raw.get("frets")
    return Instrument(
        open_strings_midi=tuple(int(midi) for midi in raw["open_strings_midi"]),
        frets=max(plain.frets, capo + 1) if frets is None else int(frets),
        capo=capo,
        scale_length_mm=number(raw.get("scale_length_mm"), plain.scale_length_mm),
        reference_hz=number(raw.get("reference_hz"), plain.reference_hz),
        tuning_offset_cents=number_or_none(raw.get("tuning_offset_cents")),
        unknown=unknown_keys(raw, "instrument"),
    )


def _source(raw: Mapping[str, Any] | None, unknown: dict[str, Any]) -> Source | None:
    if not raw or raw.get("file") is None:
        _keep_half_told("source", raw, unknown)
        return None
    rate = raw.get("sample_rate_hz")
    return Source(
        file=raw["file"],
        sha256=raw.get("sha256"),
        start_s=number(raw.get("start_s"), 0.0),
        duration_s=number_or_none(raw.get("duration_s")),
        sample_rate_hz=None if rate is None else int(rate),
        unknown=unknown_keys(raw, "source"),
    )


def _key(raw: Mapping[str, Any] | None, unknown: dict[str, Any]) -> Key | None:
    if not raw or raw.get("tonic") is None:
        _keep_half_told("key", raw, unknown)
        return None
    with located("key"):
        return Key(
            raw["tonic"],
            raw.get("mode") or "major",
            confidence=number_or_none(raw.get("confidence")),
            source=raw.get("source") or "given",
            unknown=unknown_keys(raw, "key"),
            runner_up=raw.get("runner_up"),
        )


def _rhythm(raw: Mapping[str, Any] | None, notes: list[TakeNote], unknown: dict[str, Any]) -> Rhythm | None:
    """Return the grid; where bar 1 begins is taken from the notes when the document leaves it out."""
    if not raw or raw.get("tempo_bpm") is None:
        _keep_half_told("rhythm", raw, unknown)
        return None
    with located("rhythm"):
        meter = meter_from_text(raw.get("meter") or "4/4")
        beat_s = 60.0 / number(raw["tempo_bpm"], 0.0)
        pickup = Fraction(raw["pickup_beats"]) if raw.get("pickup_beats") else _pickup(notes)
        first_s = number_or_none(raw.get("first_downbeat_s"))
        if first_s is None:
            first_s = _first_downbeat_s(notes, meter.bar_beats, pickup, beat_s)
        return Rhythm(
            tempo_bpm=number(raw["tempo_bpm"], 0.0),
            meter=meter,
            first_downbeat_s=first_s,
            pickup_beats=pickup,
            feel=raw.get("feel") or "straight",
            tempo_source=raw.get("tempo_source") or "given",
            beats_s=tuple(float(time) for time in raw.get("beats_s") or ()),
            readings=tuple(_reading(each) for each in raw.get("readings") or ()),
            unknown=unknown_keys(raw, "rhythm"),
        )


def _reading(raw: Mapping[str, Any]) -> RhythmReading:
    return RhythmReading(
        tempo_bpm=float(raw["tempo_bpm"]),
        meter=meter_from_text(raw["meter"]),
        first_downbeat_s=number(raw.get("first_downbeat_s"), 0.0),
        pickup_beats=Fraction(raw.get("pickup_beats") or 0),
        feel=raw.get("feel") or "straight",
        likely=number(raw.get("likely"), 0.0),
        unknown=unknown_keys(raw, "reading"),
    )


def _pickup(notes: list[TakeNote]) -> Fraction:
    """Return the length of bar 0: as far as its notes reach."""
    ends = [take.timing.beat + take.timing.value for take in notes if take.timing and take.timing.bar == 0]
    return max(ends, default=Fraction(0))


def _first_downbeat_s(notes: list[TakeNote], bar_beats: Fraction, pickup: Fraction, beat_s: float) -> float:
    """Return the start of bar 1 that the first written note implies; with no written note, the first onset."""
    for take in notes:
        if take.timing is not None:
            bar, beat = take.timing.bar, take.timing.beat
            beats_in = beat - pickup if bar == 0 else (bar - 1) * bar_beats + beat
            return take.note.onset_s - float(beats_in) * beat_s
    return min((take.note.onset_s for take in notes), default=0.0)


def _contours(
    raw: Mapping[str, Any] | None, raw_notes: list[Mapping[str, Any]], unknown: dict[str, Any]
) -> dict[str, Contour]:
    if not raw:
        return {}
    kept = unknown_keys(raw, "contour")
    if kept:
        unknown["contour"] = kept
    hop_s = number(raw.get("hop_s"), DEFAULT_HOP_S)
    onsets_s = {note["id"]: float(note["onset_s"]) for note in raw_notes}
    return {
        track["note"]: Contour(
            start_s=number(track.get("start_s"), onsets_s[track["note"]]),
            hop_s=number(track.get("hop_s"), hop_s),
            cents=tuple(None if cents is None else float(cents) for cents in track.get("cents") or ()),
            unknown=unknown_keys(track, "track"),
        )
        for track in raw.get("tracks") or []
    }


def _doubt(raw: Mapping[str, Any]) -> Doubt:
    return Doubt(
        raw.get("why") or NO_REASON, raw.get("note"), about=raw.get("about"), unknown=unknown_keys(raw, "doubt")
    )


def _shape(raw: Mapping[str, Any]) -> ShapeSpan:
    return ShapeSpan(raw["first"], raw["last"], raw["name"], int(raw["fret"]))


def _keep_half_told(name: str, raw: Mapping[str, Any] | None, unknown: dict[str, Any]) -> None:
    """Keep what an object said when it said too little to become a value."""
    told = {key: value for key, value in (raw or {}).items() if value is not None or key not in known_keys(name)}
    if told:
        unknown[name] = told


def _bytes_of(path: Path) -> bytes:
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise DocumentError(f"{path} is too large to be a take document", "Name a .take.json file.")
        return path.read_bytes()
    except FileNotFoundError as error:
        raise ReadError(f"no such file: {path}", "Check the name and the folder.") from error
    except IsADirectoryError as error:
        raise ReadError(f"{path} is a folder", "Name a .take.json file.") from error
    except OSError as error:
        raise ReadError(
            f"{path} cannot be read: {error.strerror or error}", "Check the name and your rights."
        ) from error


def _json_of(data: bytes) -> Any:
    """Return the parsed JSON (RFC 8259; a byte order mark is passed over); raises DocumentError with the line."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise DocumentError(
            f"this is no text in UTF-8: byte {error.start} is {data[error.start]:#04x}", "Name a .take.json file."
        ) from error
    try:
        return json.loads(text, parse_constant=_refuse_constant, parse_float=_finite)
    except json.JSONDecodeError as error:
        what = error.msg[:1].lower() + error.msg[1:]
        raise DocumentError(
            f"this is no whole JSON: line {error.lineno}, column {error.colno}: {what}",
            "Mend that line, or draft the take again.",
        ) from error
    except RecursionError as error:
        raise DocumentError("this JSON is nested too deeply", "Name a .take.json file.") from error
    except ValueError as error:  # a whole number of thousands of digits
        raise DocumentError(f"a number in this JSON is too long: {error}", "Write a finite number, or null.") from error


def _refuse_constant(text: str) -> NoReturn:
    raise DocumentError(f"{text} is no JSON number", "Write a finite number, or null.")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise DocumentError(f"{text} is too large a number", "Write a finite number, or null.")
    return value
