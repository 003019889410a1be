"""What is known about a made take, as a take document (version 1) in plain values."""

from __future__ import annotations

import hashlib
from typing import Any

from transcribe.training.perform import Movement, Performance, Played

HEARD_DB = 34.0  # a note left to fade ends where it is this far below its start: close to where ears and meters lose it


def take_document(
    performance: Performance,
    *,
    file: str,
    samples: int,
    rate_hz: int,
    ring_s: dict[str, float],
    sha256: str | None = None,
    made_with: str,
) -> dict[str, Any]:
    """Return the reference take document of a performance.

    ``ring_s`` gives, by note id, the seconds in which the note falls by 60 dB undamped; a note that fades away
    before it is damped ends 34 dB below its start. A movement's ``end_s`` is the next movement or the note's end.
    """
    lick = performance.lick
    return {
        "format": "takesheet/take",
        "version": 1,
        "source": {
            "file": file,
            "sha256": sha256,
            "start_s": 0.0,
            "duration_s": round(samples / rate_hz, 4),
            "sample_rate_hz": rate_hz,
        },
        "instrument": {
            "open_strings_midi": list(lick.open_strings_midi),
            "frets": lick.frets,
            "capo": lick.capo,
            "scale_length_mm": 648,
            "reference_hz": 440.0,
            "tuning_offset_cents": lick.tuning_offset_cents,
        },
        "rhythm": {
            "tempo_bpm": lick.tempo_bpm,
            "meter": str(lick.meter),
            "first_downbeat_s": round(performance.first_downbeat_s, 4),
            "pickup_beats": str(lick.pickup_beats),
            "feel": lick.feel,
            "tempo_source": "given",
        },
        "key": None if lick.key is None else {"tonic": lick.key.tonic, "mode": lick.key.mode, "source": "given"},
        "notes": [_note(performance, index, ring_s[note.id]) for index, note in enumerate(performance.notes)],
        "tool": {"name": made_with, "settings": {"seed": lick.seed}},
    }


def digest(data: bytes) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _note(performance: Performance, index: int, ring_s: float) -> dict[str, Any]:
    note = performance.notes[index]
    step = note.step
    offset_s = round(min(note.offset_s, note.onset_s + ring_s * HEARD_DB / 60), 4)
    wave = step.vibrato
    return {
        "id": note.id,
        "onset_s": note.onset_s,
        "offset_s": offset_s,
        "midi": note.midi,
        "cents": note.cents,
        "string": step.string,
        "fret": step.fret,
        "finger": step.finger,
        "attack": step.attack,
        "bends": _bends(note.movements, offset_s),
        "slide": _slide(performance, index),
        "vibrato": None if wave is None else {"rate_hz": wave.rate_hz, "extent_cents": wave.extent_cents},
        "mute": step.mute,
        "harmonic": "none",
        "let_ring": False,
        "bar": note.timing.bar,
        "beat": str(note.timing.beat),
        "value": str(note.timing.value),
    }


def _bends(movements: tuple[Movement, ...], offset_s: float) -> list[dict[str, Any]]:
    movements = tuple(move for move in movements if move.start_s < offset_s)  # the others are heard no more
    ends = [*(move.start_s for move in movements), offset_s][1:]
    return [
        {
            "kind": move.kind,
            "start_s": move.start_s,
            "reach_s": min(move.reach_s, offset_s),
            "end_s": max(min(end_s, offset_s), min(move.reach_s, offset_s)),
            "target_cents": move.target_cents,
            "reached_cents": move.reached_cents,
            "error_cents": round(move.reached_cents - move.target_cents, 2),
        }
        for move, end_s in zip(movements, ends, strict=True)
    ]


def _slide(performance: Performance, index: int) -> dict[str, Any] | None:
    note: Played = performance.notes[index]
    if note.step.slide is None:
        return None
    if note.step.slide in ("in", "out"):
        return {"kind": note.step.slide, "to": None, "cents": 100.0 * note.step.slide_frets}
    after = next(each for each in performance.notes[index + 1 :] if each.step.string == note.step.string)
    return {"kind": note.step.slide, "to": after.id, "cents": 100.0 * (after.midi - note.midi)}
