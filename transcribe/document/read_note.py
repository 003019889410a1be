"""One note of a take document, from JSON: what was heard, where it is played, where it is written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from fractions import Fraction
from typing import Any

from fingering.errors import FingeringError
from fingering.passage import Placement
from transcribe.document.check import known_keys
from transcribe.document.model import Instrument, TakeNote
from transcribe.errors import DocumentError, SettingsError, ValueRuleError
from transcribe.notes.note import WEIGHTS_SLACK, Bend, BendKind, Contour, Doubt, Note, Slide, Vibrato
from transcribe.rhythm.rhythm import Timing

# What a gesture is taken to be when a document names it and says no more. Common practice, no source.
UNSAID_BEND_CENTS = 200.0
UNSAID_REACH_S = 0.15
UNSAID_SLIDE_CENTS = 200.0
UNSAID_VIBRATO_HZ, UNSAID_VIBRATO_CENTS = 5.0, 25.0


def note_from_json(
    raw: Mapping[str, Any], raw_notes: Sequence[Mapping[str, Any]], instrument: Instrument, contour: Contour | None
) -> tuple[TakeNote, tuple[Doubt, ...]]:
    """Return a note, and doubts about what had to be guessed. ``raw`` fits the schema, and so do all ``raw_notes``.

    Keys that say too little to become a value (a finger with no string) stay with the unknown ones and are kept.
    """
    onset_s, offset_s = float(raw["onset_s"]), float(raw["offset_s"])
    unknown = unknown_keys(raw, "note")
    guesses: list[Doubt] = []
    note = Note(
        id=raw["id"],
        onset_s=onset_s,
        offset_s=offset_s,
        midi=int(raw["midi"]),
        cents=number_or_none(raw.get("cents")),
        level_db=number_or_none(raw.get("level_db")),
        confidence=number_or_none(raw.get("confidence")),
        attack=raw.get("attack") or "unknown",
        bends=_bends(raw, guesses),
        slide=_slide(raw, raw_notes, unknown),
        vibrato=_vibrato(raw.get("vibrato")),
        mute=raw.get("mute") or "none",
        harmonic=raw.get("harmonic") or "none",
        let_ring=bool(raw.get("let_ring")),
        contour=contour,
        string_weights=_string_weights(raw, instrument, unknown),
    )
    take = TakeNote(
        note=note,
        placement=_placement(raw, instrument, unknown),
        timing=_timing(raw, unknown),
        degree=raw.get("degree"),
        chord_degree=raw.get("chord_degree"),
        tone=raw.get("tone"),
        tie_to=raw.get("tie_to"),
        locked=tuple(raw.get("locked") or ()),
        position=None if raw.get("position") is None else int(raw["position"]),
        unknown=unknown,
    )
    return take, tuple(guesses)


def _string_weights(
    raw: Mapping[str, Any], instrument: Instrument, unknown: dict[str, Any]
) -> tuple[float, ...] | None:
    """Return what the sound says of each string; a list that is not one share a string stays with the unknown keys."""
    told = raw.get("string_weights")
    if told is None:
        return None
    if len(told) != len(instrument.open_strings_midi) or abs(sum(told) - 1.0) > WEIGHTS_SLACK:
        _keep(raw, ("string_weights",), unknown)
        return None
    return tuple(float(share) for share in told)


def _placement(raw: Mapping[str, Any], instrument: Instrument, unknown: dict[str, Any]) -> Placement | None:
    """Return where the note is played; a missing fret follows from string and pitch, except for harmonics."""
    string, fret = raw.get("string"), raw.get("fret")
    if string is not None and fret is None and (raw.get("harmonic") or "none") == "none":
        open_midi = instrument.open_strings_midi[int(string) - 1] + instrument.capo
        fits = 0 <= raw["midi"] - open_midi <= instrument.frets - instrument.capo
        fret = raw["midi"] - open_midi if fits else None
    if string is None or fret is None:
        _keep(raw, ("string", "fret", "finger", "pluck"), unknown)
        return None
    finger = raw.get("finger")
    return Placement(raw["id"], int(string), int(fret), None if finger is None else int(finger), raw.get("pluck"))


def _timing(raw: Mapping[str, Any], unknown: dict[str, Any]) -> Timing | None:
    bar, beat, value = raw.get("bar"), raw.get("beat"), raw.get("value")
    if bar is None or beat is None or value is None:
        _keep(raw, ("bar", "beat", "value"), unknown)
        return None
    return Timing(int(bar), Fraction(beat), Fraction(value))


def _bends(raw: Mapping[str, Any], guesses: list[Doubt]) -> tuple[Bend, ...]:
    """Return the bends; times left out share the note evenly, sizes left out are guessed with a doubt."""
    told = raw.get("bends") or []
    bends: list[Bend] = []
    cursor_s = float(raw["onset_s"])
    for index, bend in enumerate(told):
        kind: BendKind = bend.get("kind") or "bend"
        start_s = number(bend.get("start_s"), cursor_s)
        next_s = number_or_none(told[index + 1].get("start_s")) if index + 1 < len(told) else float(raw["offset_s"])
        if next_s is None:
            next_s = start_s + (float(raw["offset_s"]) - start_s) / (len(told) - index)
        end_s = number(bend.get("end_s"), max(start_s, next_s, number(bend.get("reach_s"), 0.0)))
        reach_s = number(bend.get("reach_s"), start_s if kind == "pre-bend" else min(start_s + UNSAID_REACH_S, end_s))
        target_cents, reached_cents = _bend_size(kind, bend, raw["id"], guesses)
        with located(f"bends[{index}]"):
            bends.append(
                Bend(kind, start_s, reach_s, end_s, target_cents, reached_cents, unknown=unknown_keys(bend, "bend"))
            )
        cursor_s = end_s
    return tuple(bends)


def _bend_size(kind: str, bend: Mapping[str, Any], note_id: str, guesses: list[Doubt]) -> tuple[float, float]:
    """Return target and reached in cents; one follows from the other."""
    target, reached, error = (number_or_none(bend.get(key)) for key in ("target_cents", "reached_cents", "error_cents"))
    if target is None and reached is not None:
        target = max(0.0, reached - (error or 0.0))
    if target is None:
        target = 0.0 if kind == "release" else UNSAID_BEND_CENTS
        if kind != "release":
            guesses.append(Doubt("the size of the bend was not given: a whole tone is assumed", note_id))
    return target, target + (error or 0.0) if reached is None else reached


def _slide(raw: Mapping[str, Any], raw_notes: Sequence[Mapping[str, Any]], unknown: dict[str, Any]) -> Slide | None:
    """Return the slide; with no goal named, a legato or shift slide goes to the next note."""
    told = raw.get("slide")
    if not told:
        return None
    kind, to = told.get("kind"), told.get("to")
    if kind in ("legato", "shift") and to is None:
        later = [note for note in raw_notes if note["onset_s"] > raw["onset_s"]]
        to = min(later, key=lambda note: note["onset_s"])["id"] if later else None
    goal = next((note for note in raw_notes if note["id"] == to), None)
    if kind is None and goal is not None:
        kind = "shift" if goal.get("attack") == "picked" else "legato"
    if kind is None or (kind in ("legato", "shift") and goal is None):
        unknown["slide"] = dict(told)
        return None
    cents = number_or_none(told.get("cents"))
    if cents is None:
        unsaid = -UNSAID_SLIDE_CENTS if kind == "out" else UNSAID_SLIDE_CENTS
        cents = unsaid if goal is None else 100.0 * (goal["midi"] - raw["midi"])
    with located("slide"):
        return Slide(kind, cents, to, unknown=unknown_keys(told, "slide"))


def _vibrato(told: Mapping[str, Any] | None) -> Vibrato | None:
    if told is None:
        return None
    return Vibrato(
        number(told.get("rate_hz"), UNSAID_VIBRATO_HZ),
        number(told.get("extent_cents"), UNSAID_VIBRATO_CENTS),
        unknown=unknown_keys(told, "vibrato"),
    )


def _keep(raw: Mapping[str, Any], keys: tuple[str, ...], unknown: dict[str, Any]) -> None:
    unknown.update({key: raw[key] for key in keys if raw.get(key) is not None})


def unknown_keys(raw: Mapping[str, Any], definition: str) -> dict[str, Any]:
    """Return the entries whose keys the format does not name for this kind of object."""
    return {key: value for key, value in raw.items() if key not in known_keys(definition)}


def number(value: Any, unsaid: float) -> float:
    """Return a JSON number as a float, and ``unsaid`` for null."""
    return unsaid if value is None else float(value)


def number_or_none(value: Any) -> float | None:
    """Return a JSON number as a float; null stays None."""
    return None if value is None else float(value)


@contextmanager
def located(where: str) -> Iterator[None]:
    """Turn a broken rule of a value into a DocumentError that says where it was broken."""
    try:
        yield
    except DocumentError as error:
        raise DocumentError(f"{where}.{error.found}", error.mend) from error
    except (ValueRuleError, SettingsError, FingeringError) as error:
        mend = error.mend or "Correct it in the file."
        raise DocumentError(f"{where}: {error.found}", mend) from error
