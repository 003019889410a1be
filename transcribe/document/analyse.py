"""What the notes of a document mean: key, degrees, chords, what each note does, and a paragraph about it.

Whatever a person fixed or told is kept: locked fields, a given key, chords that were given, an edited paragraph.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache

from transcribe.document.chords import chords_told_and_heard
from transcribe.document.edit import fretboard_of
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.document.paragraph import paragraph
from transcribe.harmony.backing import Bars, backing_at, home_key, spans_from_bars
from transcribe.harmony.chord import Chord, chord_or_none
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.degrees import chord_degree, following_notes, key_degrees
from transcribe.harmony.key import Key
from transcribe.harmony.key_finding import find_key
from transcribe.harmony.shape_names import named_by_key, with_shapes
from transcribe.harmony.sounding import Sounded, sounded
from transcribe.harmony.tones import tones
from transcribe.notes.note import Doubt
from transcribe.settings import HarmonySettings

HARMONY = "harmony"  # what a doubt is about that the next analysis replaces
Facts = dict[str, tuple[str | None, str | None, str | None]]  # note id -> degree, degree of the chord, what it does


def analyse(document: TakeDocument, settings: HarmonySettings | None = None) -> TakeDocument:
    """Return the document with key, chords, degrees and the paragraph told anew from its notes."""
    settings = settings or HarmonySettings()
    tied_on = {take.tie_to for take in document.notes}
    takes = [take for take in document.notes if take.id not in tied_on]
    timings = {take.id: take.timing for take in takes if take.timing is not None}
    line = sounded([take.note for take in takes], timings, document.rhythm)
    if not line:
        return document
    vamp = chord_or_none(document.vamp)
    key = _key(document, line, vamp, settings)
    chords = document.chords if "chords" in document.locked else chords_told_and_heard(document, line, key, vamp)
    if "chords" not in document.locked:
        chords = with_shapes(chords, document.shapes, {note.id: note.start for note in line})
    found = _facts(line, chords, vamp, key)
    told = replace(
        document,
        notes=tuple(_with_facts(take, found) for take in document.notes),
        key=key,
        chords=chords,
        doubts=_doubts(document, key, settings),
    )
    return with_paragraph(told)


def with_backing_told(document: TakeDocument, vamp: str | None, bars: Bars) -> TakeDocument:
    """Return the document with what a person says of the backing: a vamp, or chords by the bar from bar 1 to the end.

    What is not told stays as it is. Chords by the bar need a document with bars.
    """
    if vamp is not None:
        document = replace(document, vamp=vamp)
    if not bars or document.rhythm is None:
        return document
    bar_quarters = document.rhythm.meter.bar_beats
    last = max((take.timing.bar for take in document.notes if take.timing is not None), default=1)
    return replace(document, chords=spans_from_bars(bars, bar_quarters, last * bar_quarters))


def is_analysed(document: TakeDocument) -> bool:
    """True when degrees or a paragraph are there."""
    return document.about is not None or any(take.degree is not None for take in document.notes)


def with_paragraph(document: TakeDocument) -> TakeDocument:
    """Return the document with its paragraph written anew, unless a person edited or fixed it.

    Shapes of scales are named by the key first.
    """
    if document.key is not None and document.shapes:
        placed = [take.placement for take in document.notes if take.placement is not None]
        places = {place.id: (place.string, place.fret) for place in placed}
        named = named_by_key(document.shapes, document.key, fretboard_of(document), places)
        document = replace(document, shapes=named)
    written = document.about is None or _digest(document.about) == document.about_sha256
    if "about" in document.locked or not written:
        return document
    about = paragraph(document)
    return replace(document, about=about, about_sha256=None if about is None else _digest(about))


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", errors="replace")).hexdigest()


def _key(document: TakeDocument, line: Sequence[Sounded], vamp: Chord | None, settings: HarmonySettings) -> Key:
    told = document.key
    if told is not None and (told.source == "given" or "key" in document.locked):
        return told
    if vamp is not None:  # a chord that never moves is heard as home: common practice
        return replace(home_key(vamp), unknown=told.unknown if told is not None else {})
    bar = document.rhythm.meter.bar_beats if document.rhythm else None
    given = [span for span in document.chords if span.source == "given"]
    found = find_key(line, bar, settings, given=given, capo=document.instrument.capo)
    assert found is not None  # the line has notes
    return found if told is None else replace(found, unknown=told.unknown)


def _facts(line: Sequence[Sounded], chords: Sequence[ChordSpan], vamp: Chord | None, key: Key) -> Facts:
    given = [span for span in chords if span.source == "given"]
    heard = [span for span in chords if span.source == "heard"]

    @cache
    def told_at(place: Fraction) -> Chord | None:
        return backing_at(place, given, vamp) or backing_at(place, heard, None)

    def told_under(note: Sounded) -> Chord | None:
        """Return the backing's chord, else the one heard in the notes."""
        return told_at(note.start)

    labels = tones(line, told_under, key)
    degrees, after = key_degrees(line, key), following_notes(line)
    found: Facts = {}
    for note in line:
        chord = told_under(note)
        following = after[note.id].pitch if note.id in after else None
        in_chord = None if chord is None else chord_degree(note.pitch, chord, following)
        found[note.id] = (degrees[note.id], in_chord, labels[note.id])
    return found


def _with_facts(take: TakeNote, found: Facts) -> TakeNote:
    degree, in_chord, tone = found.get(take.id, (None, None, None))
    kept = take.locked
    return replace(
        take,
        degree=take.degree if "degree" in kept else degree,
        chord_degree=take.chord_degree if "chord_degree" in kept else in_chord,
        tone=take.tone if "tone" in kept else tone,
    )


def _doubts(document: TakeDocument, key: Key, settings: HarmonySettings) -> tuple[Doubt, ...]:
    """Return the doubts, with one about the key when another is nearly as likely."""
    kept = [doubt for doubt in document.doubts if doubt.about != HARMONY]
    if key.source == "given" or key.confidence is None or key.confidence >= settings.sure_of_key:
        return tuple(kept)
    why = f"the key could also be {key.runner_up}"
    place = sum(1 for doubt in kept if doubt.note is None)
    return (*kept[:place], Doubt(why, about=HARMONY), *kept[place:])
