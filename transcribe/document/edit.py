"""Corrections to a take document, as pure functions: fix a field, free it, put another fingering in.

A field named in a note's ``locked`` list was fixed by a person. No function here but ``unlock`` and ``lock`` itself
changes such a field.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from fingering.fretboard import Fretboard
from fingering.needs import OCTAVE
from fingering.passage import Placement
from fingering.solution import Fingering, ShapeSpan
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.errors import SettingsError
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.shape_names import with_shapes
from transcribe.notes.note import Doubt
from transcribe.rhythm.quantize import place_of

PLACE_FIELDS = ("string", "fret", "finger", "pluck")  # keys of a note that a fingering decides
FINGERING = "fingering"  # what a doubt is about that the next fingering replaces


def lock(
    document: TakeDocument,
    note_id: str,
    *,
    string: int | None = None,
    fret: int | None = None,
    finger: int | None = None,
) -> TakeDocument:
    """Return the document with a note's string, fret or finger fixed by a person; what is None stays as it is.

    The fret follows from the string and the string from the fret where only one place gives the pitch. Raises
    SettingsError for a note that is not there, and for a place where the pitch does not lie.
    """
    take = note_of(document, note_id)
    told = {"string": string, "fret": fret, "finger": finger}
    fixed = {name: value for name, value in told.items() if value is not None}
    if not fixed:
        return document
    wanted = {name: fixed.get(name, _kept(take, name)) for name in told}
    spots = _spots(take, document, wanted["string"], wanted["fret"])
    if ("string" in fixed or "fret" in fixed) and not spots:
        raise _misplaced(take, document, wanted, fixed)
    if not 0 <= (finger or 0) <= 4:
        raise SettingsError(f"note {note_id}: there is no finger {finger}", "Fingers are 1 to 4, and 0 an open string.")
    locked = tuple(dict.fromkeys((*take.locked, *fixed)))
    old = take.placement
    if len(spots) == 1:
        at_string, at_fret = spots[0]
        same = old is not None and (old.string, old.fret) == (at_string, at_fret)
        kept = old.finger if same and old is not None else None
        placement = Placement(note_id, at_string, at_fret, wanted["finger"] if finger is not None else kept)
        placement = replace(placement, stroke=old.stroke if old is not None else None)
        changed = replace(take, placement=placement, locked=locked, position=take.position if same else None)
        changed = replace(changed, unknown=_without_places(take.unknown))
    else:  # several places are left: the next fingering chooses among them
        changed = replace(take, placement=None, locked=locked, position=None)
        changed = replace(changed, unknown={**take.unknown, **{k: v for k, v in wanted.items() if k in locked}})
    return _with_note(document, changed)


def unlock(document: TakeDocument, note_id: str, fields: Iterable[str] = PLACE_FIELDS) -> TakeDocument:
    """Return the document with these fields of a note free again; their values stay until something changes them."""
    take = note_of(document, note_id)
    freed = frozenset(fields)
    return _with_note(document, replace(take, locked=tuple(name for name in take.locked if name not in freed)))


def with_fingering(document: TakeDocument, fingering: Fingering) -> TakeDocument:
    """Return the document played as ``fingering`` says.

    Notes the fingering does not know keep their places, and so does every locked field. Doubts and cautions of an
    earlier fingering of these notes make way for the new ones; a chord gets the shape it is now played in. A note tied
    to an earlier one lies where that one does.
    """
    told = fingering.by_id
    notes = {take.id: take for take in document.notes}
    asked = frozenset(fingering.positions)
    heads = tie_heads(document.notes)
    placed = tuple(
        _placed(take, told.get(heads[take.id]), fingering.positions.get(heads[take.id]))
        if heads[take.id] in asked
        else take
        for take in document.notes
    )
    changed = replace(document, notes=placed)
    kept = [
        doubt for doubt in document.doubts if not (doubt.about == FINGERING and heads.get(doubt.note or "") in asked)
    ]
    order = {name: index for index, name in enumerate(notes)}
    doubts = sorted([*kept, *fingering_doubts(fingering)], key=lambda doubt: order.get(doubt.note or "", -1))
    return replace(
        changed,
        doubts=tuple(dict.fromkeys(doubts)),
        shapes=_shapes(document, fingering, asked),
        chords=_chords_with_shapes(changed, fingering.shapes, asked),
    )


def fingering_doubts(fingering: Fingering) -> tuple[Doubt, ...]:
    """Return what a fingering doubts, and where it tells the hand to take care, as doubts of a document."""
    return (
        *(Doubt(doubt.why, doubt.id, about=FINGERING) for doubt in fingering.doubts),
        *(Doubt(f"take care: {item.why}. {item.advice}", item.id, about=FINGERING) for item in fingering.cautions),
    )


def note_of(document: TakeDocument, note_id: str) -> TakeNote:
    """Return the note of this name; raises SettingsError that names those there are."""
    for take in document.notes:
        if take.id == note_id:
            return take
    names = [take.id for take in document.notes]
    some = ", ".join(names if len(names) <= 8 else [*names[:4], "...", names[-1]])
    raise SettingsError(f"there is no note {note_id}", f"The notes are {some}." if names else "There are no notes.")


def tie_heads(notes: Sequence[TakeNote]) -> dict[str, str]:
    """Return, for each note, the id of the one that was struck: itself, or the first of its ties."""
    into = {take.tie_to: take.id for take in notes if take.tie_to is not None}
    heads: dict[str, str] = {}
    for take in notes:
        head, seen = take.id, {take.id}
        while head in into and into[head] not in seen:
            head = into[head]
            seen.add(head)
        heads[take.id] = head
    return heads


def fretboard_of(document: TakeDocument) -> Fretboard:
    """Return the neck of the document's guitar; raises TuningError when nobody could play it."""
    guitar = document.instrument
    return Fretboard(guitar.open_strings_midi, guitar.frets, guitar.capo, guitar.scale_length_mm)


def _kept(take: TakeNote, name: str) -> int | None:
    """Return a locked value of a note, wherever the document holds it; None when it is free."""
    if name not in take.locked:
        return None
    value = getattr(take.placement, name) if take.placement is not None else take.unknown.get(name)
    return None if value is None else int(value)


def locked_place(take: TakeNote) -> dict[str, int | None]:
    """Return the string, fret and finger that a person fixed for this note; None where free."""
    return {name: _kept(take, name) for name in ("string", "fret", "finger")}


def _spots(take: TakeNote, document: TakeDocument, string: int | None, fret: int | None) -> list[tuple[int, int]]:
    """Return the places of the note's pitch that fit what is told, highest string first."""
    neck = fretboard_of(document)
    places = neck.harmonic_places(take.note.midi) if take.note.harmonic == "natural" else ()
    # an artificial harmonic is fretted an octave below the pitch that sounds
    places = places or neck.places(take.note.midi - OCTAVE * (take.note.harmonic == "artificial"))
    return [
        (place.string, place.fret) for place in places if string in (None, place.string) and fret in (None, place.fret)
    ]


def _misplaced(
    take: TakeNote, document: TakeDocument, wanted: Mapping[str, int | None], fixed: Mapping[str, int]
) -> SettingsError:
    """Return the error of a place without the pitch; a lock of before that is the cause is named."""
    asked = {name: wanted[name] for name in ("string", "fret") if wanted[name] is not None}
    before = {name: value for name, value in asked.items() if name not in fixed}
    new = {name: value for name, value in asked.items() if name in fixed}
    if before and _spots(take, document, new.get("string"), new.get("fret")):
        return SettingsError(
            f"note {take.id} is fixed to {_words(before)} already, where it does not lie on {_words(new)}",
            f"Free it first with --unlock {take.id}, or give string and fret together.",
        )
    where = ", ".join(f"string {at[0]} fret {at[1]}" for at in _spots(take, document, None, None))
    return SettingsError(
        f"note {take.id} does not lie on {_words(asked)}",
        f"Its pitch is found on {where}." if where else "Its pitch is nowhere on this neck.",
    )


def _words(place: Mapping[str, int | None]) -> str:
    return " ".join(f"{name} {value}" for name, value in place.items())


def _with_note(document: TakeDocument, changed: TakeNote) -> TakeDocument:
    return replace(document, notes=tuple(changed if take.id == changed.id else take for take in document.notes))


def _without_places(unknown: Mapping[str, object]) -> dict[str, object]:
    return {key: value for key, value in unknown.items() if key not in PLACE_FIELDS}


def _placed(take: TakeNote, told: Placement | None, position: int | None) -> TakeNote:
    """Return the note at its new place; where nobody could place it, its locked fields are all that is left."""
    if told is None:
        left = {name: value for name, value in locked_place(take).items() if value is not None}
        return replace(take, placement=None, position=None, unknown={**_without_places(take.unknown), **left})
    fixed = locked_place(take)
    stroke = take.placement.stroke if "pluck" in take.locked and take.placement is not None else told.stroke
    placement = Placement(
        take.id,
        told.string if fixed["string"] is None else fixed["string"],
        told.fret if fixed["fret"] is None else fixed["fret"],
        told.finger if fixed["finger"] is None else fixed["finger"],
        stroke,
    )
    return replace(take, placement=placement, position=position, unknown=_without_places(take.unknown))


def _shapes(document: TakeDocument, fingering: Fingering, asked: frozenset[str]) -> tuple[ShapeSpan, ...]:
    """Return the shapes in order: the new ones, and the old ones of stretches that were not asked about."""
    order = {take.id: index for index, take in enumerate(document.notes)}
    names = list(order)

    def untouched(span: ShapeSpan) -> bool:
        return not asked.intersection(names[order[span.first_id] : order[span.last_id] + 1])

    kept = [span for span in document.shapes if untouched(span)]
    return tuple(sorted([*kept, *fingering.shapes], key=lambda span: order.get(span.first_id, 0)))


def _chords_with_shapes(
    document: TakeDocument, spans: Sequence[ShapeSpan], asked: frozenset[str]
) -> tuple[ChordSpan, ...]:
    """Return the chords, each with the shape it is now played in; those with no note asked about stay as they are."""
    rhythm = document.rhythm
    if rhythm is None:
        return document.chords
    starts = {take.id: place_of(take.timing, rhythm) for take in document.notes if take.timing is not None}
    touched = [
        any(chord.start_beat <= starts[name] < chord.end_beat for name in asked if name in starts)
        for chord in document.chords
    ]
    freed = [
        replace(chord, shape=None, fret=None) if new and not {"shape", "fret"} & set(chord.locked) else chord
        for chord, new in zip(document.chords, touched, strict=True)
    ]
    named = with_shapes(freed, spans, starts)
    return tuple(new if new_too else old for old, new, new_too in zip(freed, named, touched, strict=True))
