"""Take documents to JSON: stable order of keys, one note a line, numbers rounded to what can be measured."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from fingering.solution import ShapeSpan
from transcribe.document.check import check_document
from transcribe.document.model import FORMAT, VERSION, Instrument, Source, TakeDocument, TakeNote
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key
from transcribe.notes.note import Bend, Contour, Doubt, Note, Slide, Vibrato
from transcribe.rhythm.rhythm import Rhythm, RhythmReading

SECONDS_DECIMALS = 4  # 0.1 ms; an onset is heard to about 5 ms
CENTS_DECIMALS = 1
SHARE_DECIMALS = 3  # confidences
RATE_DECIMALS = 4  # tempo and vibrato rate
HOP_DECIMALS = 6

ONE_ITEM_A_LINE = ("chords", "notes", "shapes", "doubts")


def take_to_json(document: TakeDocument) -> dict[str, Any]:
    """Return the document as JSON values, keys in the order of the format; checked as on reading.

    Raises DocumentError when ids repeat or a name points nowhere.
    """
    data: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "source": document.source and _source(document.source),
        "instrument": _instrument(document.instrument),
        "rhythm": document.rhythm and _rhythm(document.rhythm),
        "key": document.key and _key(document.key),
        "vamp": document.vamp,
        "chords": [_chord(chord) for chord in document.chords],
        "about": document.about,
        "about_sha256": document.about_sha256,
        "notes": [_note(take) for take in document.notes],
        "shapes": [_shape(span) for span in document.shapes],
        "contour": _contour(document),
        "doubts": [_doubt(doubt) for doubt in document.doubts],
        "locked": list(document.locked),
        "tool": dict(document.tool),
    }
    data = _with_unknown(data, document.unknown)
    check_document(data)
    return data


def document_bytes(document: TakeDocument) -> bytes:
    """Return the document as a JSON file in UTF-8: one note, chord, doubt or pitch track a line.

    Raises DocumentError when ids repeat or a name points nowhere.
    """
    data = take_to_json(document)
    lines = [f"  {_line(key)}: {_block(key, value)}" for key, value in data.items()]
    text = "{\n" + ",\n".join(lines) + "\n}\n"
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError:  # half a surrogate pair in a name: JSON can escape it, UTF-8 cannot hold it
        return (json.dumps(data, indent=1, allow_nan=False) + "\n").encode("ascii")


def _block(key: str, value: Any) -> str:
    if key in ONE_ITEM_A_LINE and value:
        return "[\n" + ",\n".join(f"    {_line(item)}" for item in value) + "\n  ]"
    if key == "contour" and value and value.get("tracks"):
        entries = []
        for name, item in value.items():
            if name == "tracks":
                item_text = "[\n" + ",\n".join(f"      {_line(track)}" for track in item) + "\n    ]"
            else:
                item_text = _line(item)
            entries.append(f"    {_line(name)}: {item_text}")
        return "{\n" + ",\n".join(entries) + "\n  }"
    return _line(value)


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _with_unknown(told: dict[str, Any], unknown: Mapping[str, Any]) -> dict[str, Any]:
    """Return ``told`` with other programs' keys after it, and with what it leaves null filled in."""
    for key, value in unknown.items():
        if told.get(key) is None:
            told[key] = value
        elif key == "contour":
            told[key] = {**told[key], **{name: item for name, item in value.items() if name not in told[key]}}
        elif key == "chords":  # those that named no chord
            told[key] = [*told[key], *value]
    return told


def _source(source: Source) -> dict[str, Any]:
    return _with_unknown(
        {
            "file": source.file,
            "sha256": source.sha256,
            "start_s": _rounded(source.start_s, SECONDS_DECIMALS),
            "duration_s": _rounded(source.duration_s, SECONDS_DECIMALS),
            "sample_rate_hz": None if source.sample_rate_hz is None else int(source.sample_rate_hz),
        },
        source.unknown,
    )


def _instrument(instrument: Instrument) -> dict[str, Any]:
    return _with_unknown(
        {
            "open_strings_midi": [int(midi) for midi in instrument.open_strings_midi],
            "frets": int(instrument.frets),
            "capo": int(instrument.capo),
            "scale_length_mm": _above_zero(instrument.scale_length_mm, CENTS_DECIMALS),
            "reference_hz": _above_zero(instrument.reference_hz, SHARE_DECIMALS),
            "tuning_offset_cents": _rounded(instrument.tuning_offset_cents, CENTS_DECIMALS),
        },
        instrument.unknown,
    )


def _rhythm(rhythm: Rhythm) -> dict[str, Any]:
    return _with_unknown(
        {
            "tempo_bpm": _above_zero(rhythm.tempo_bpm, RATE_DECIMALS),
            "meter": str(rhythm.meter),
            "first_downbeat_s": _rounded(rhythm.first_downbeat_s, SECONDS_DECIMALS),
            "pickup_beats": str(rhythm.pickup_beats),
            "feel": rhythm.feel,
            "tempo_source": rhythm.tempo_source,
            "beats_s": [_rounded(time, SECONDS_DECIMALS) for time in rhythm.beats_s],
            "readings": [_reading(reading) for reading in rhythm.readings],
        },
        rhythm.unknown,
    )


def _reading(reading: RhythmReading) -> dict[str, Any]:
    return _with_unknown(
        {
            "tempo_bpm": _above_zero(reading.tempo_bpm, RATE_DECIMALS),
            "meter": str(reading.meter),
            "first_downbeat_s": _rounded(reading.first_downbeat_s, SECONDS_DECIMALS),
            "pickup_beats": str(reading.pickup_beats),
            "feel": reading.feel,
            "likely": _rounded(reading.likely, SHARE_DECIMALS),
        },
        reading.unknown,
    )


def _key(key: Key) -> dict[str, Any]:
    told = {
        "tonic": key.tonic,
        "mode": key.mode,
        "confidence": _rounded(key.confidence, SHARE_DECIMALS),
        "source": key.source,
    }
    if key.runner_up is not None:
        told["runner_up"] = key.runner_up
    return _with_unknown(told, key.unknown)


def _chord(chord: ChordSpan) -> dict[str, Any]:
    told = {
        "start_beat": str(chord.start_beat),
        "end_beat": str(chord.end_beat),
        "symbol": chord.symbol,
        "role": chord.role,
        "over": chord.over,
        "shape": chord.shape,
        "fret": None if chord.fret is None else int(chord.fret),
        "source": chord.source,
        "backing": chord.backing,
        "cadence": chord.cadence,
        "locked": list(chord.locked),
    }
    return _with_unknown(told, chord.unknown)


def _note(take: TakeNote) -> dict[str, Any]:
    note, placement, timing = take.note, take.placement, take.timing
    onset_s, offset_s = _span(note)
    told: dict[str, Any] = {
        "id": note.id,
        "onset_s": onset_s,
        "offset_s": offset_s,
        "midi": int(note.midi),
        "cents": _rounded(note.cents, CENTS_DECIMALS),
        "level_db": _rounded(note.level_db, CENTS_DECIMALS),
        "confidence": _rounded(note.confidence, SHARE_DECIMALS),
        "string": placement and int(placement.string),
        "fret": placement and int(placement.fret),
        "finger": None if placement is None or placement.finger is None else int(placement.finger),
        "pluck": placement and placement.stroke,
        "attack": note.attack,
        "bends": [_bend(bend) for bend in note.bends],
        "slide": note.slide and _slide(note.slide),
        "vibrato": note.vibrato and _vibrato(note.vibrato),
        "mute": note.mute,
        "harmonic": note.harmonic,
        "let_ring": bool(note.let_ring),
        "degree": take.degree,
        "chord_degree": take.chord_degree,
        "tone": take.tone,
        "bar": timing and int(timing.bar),
        "beat": timing and str(timing.beat),
        "value": timing and str(timing.value),
        "tie_to": take.tie_to,
        "locked": list(take.locked),
        "position": take.position,
        "string_weights": note.string_weights and [round(float(w), SHARE_DECIMALS) for w in note.string_weights],
    }
    return _with_unknown(told, take.unknown)


def _span(note: Note) -> tuple[float, float]:
    """Return onset and offset in seconds, rounded unless the note is so short that rounding would swallow it."""
    onset_s, offset_s = _rounded(note.onset_s, SECONDS_DECIMALS), _rounded(note.offset_s, SECONDS_DECIMALS)
    return (onset_s, offset_s) if onset_s < offset_s else (float(note.onset_s), float(note.offset_s))


def _bend(bend: Bend) -> dict[str, Any]:
    target, reached = _rounded(bend.target_cents, CENTS_DECIMALS), _rounded(bend.reached_cents, CENTS_DECIMALS)
    told = {
        "kind": bend.kind,
        "start_s": _rounded(bend.start_s, SECONDS_DECIMALS),
        "reach_s": _rounded(bend.reach_s, SECONDS_DECIMALS),
        "end_s": _rounded(bend.end_s, SECONDS_DECIMALS),
        "target_cents": target,
        "reached_cents": reached,
        "error_cents": _rounded(reached - target, CENTS_DECIMALS),
    }
    return _with_unknown(told, bend.unknown)


def _slide(slide: Slide) -> dict[str, Any]:
    told = {"kind": slide.kind, "to": slide.to, "cents": _rounded(slide.cents, CENTS_DECIMALS)}
    return _with_unknown(told, slide.unknown)


def _vibrato(vibrato: Vibrato) -> dict[str, Any]:
    told = {
        "rate_hz": _above_zero(vibrato.rate_hz, RATE_DECIMALS),
        "extent_cents": _above_zero(vibrato.extent_cents, CENTS_DECIMALS),
    }
    return _with_unknown(told, vibrato.unknown)


def _contour(document: TakeDocument) -> dict[str, Any] | None:
    """Return all pitch tracks; a track tells its own hop only where it differs from the first one's."""
    tracks = [(take.id, take.note.contour) for take in document.notes if take.note.contour is not None]
    if not tracks:
        return None
    hop_s = _above_zero(tracks[0][1].hop_s, HOP_DECIMALS)
    return {"hop_s": hop_s, "tracks": [_track(note_id, contour, hop_s) for note_id, contour in tracks]}


def _track(note_id: str, contour: Contour, common_hop_s: float) -> dict[str, Any]:
    told: dict[str, Any] = {"note": note_id, "start_s": _rounded(contour.start_s, SECONDS_DECIMALS)}
    hop_s = _above_zero(contour.hop_s, HOP_DECIMALS)
    if hop_s != common_hop_s:
        told["hop_s"] = hop_s
    told["cents"] = [_rounded(cents, CENTS_DECIMALS) for cents in contour.cents]
    return _with_unknown(told, contour.unknown)


def _doubt(doubt: Doubt) -> dict[str, Any]:
    told = {"note": doubt.note, "why": doubt.why}
    if doubt.about is not None:
        told["about"] = doubt.about
    return _with_unknown(told, doubt.unknown)


def _shape(span: ShapeSpan) -> dict[str, Any]:
    return {"first": span.first_id, "last": span.last_id, "name": span.name, "fret": int(span.fret)}


def _rounded(value: Any, decimals: int) -> Any:
    """Return a rounded float, never -0.0; None stays None."""
    return None if value is None else round(float(value), decimals) + 0.0


def _above_zero(value: float, decimals: int) -> float:
    """Return a rounded float, or the number itself where rounding would make it 0."""
    return round(float(value), decimals) or float(value)
