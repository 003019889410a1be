"""A score as MusicXML 4.0: one part on two staves, notation above tab."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from transcribe.document.from_musicxml import plain_take
from transcribe.document.model import TakeDocument
from transcribe.document.musicxml_complement import FIELD, packed_complement
from transcribe.document.musicxml_file import parts_of
from transcribe.document.read import document_from_json
from transcribe.document.text import take_to_json
from transcribe.errors import ScoreError
from transcribe.score.score import Bar, ChordMark, Event, Score, SpanKind
from transcribe.write.beams import beam_marks
from transcribe.write.musicxml_accidentals import accidentals
from transcribe.write.musicxml_harmony import add_cadence, add_chord
from transcribe.write.musicxml_head import add_attributes, add_head, add_tempo
from transcribe.write.musicxml_marks import Spans, spans_of
from transcribe.write.musicxml_note import NOTATION, TAB, Pen, add, add_notes, add_rest

if TYPE_CHECKING:
    from lxml.etree import _Element

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
VOICES_A_STAFF = 4  # the tab staff's voices follow the notation staff's four, as readers expect (common practice)
# Words over the dashes of a span, and the number that tells its dashes from the other kind's.
DASHES: dict[SpanKind, tuple[str, str]] = {"palm mute": ("P.M.", "1"), "let ring": ("let ring", "2")}
DOUBT_SIGN = "?"
NO_FILE = "\ufffd"  # no take's file is called so: whatever a document says of its source is kept


def musicxml_bytes(score: Score, document: TakeDocument | None = None) -> bytes:
    """Return the score as an uncompressed MusicXML 4.0 file (W3C Community Group report, June 2021).

    The notation staff has a treble clef an octave down; pitches are given as they sound. It carries what a player reads
    and, in ``play`` elements, how each note was played; the tab staff carries string, fret, finger, bends, hammer-ons,
    pull-offs, slides and spans. A note to be checked has a question mark over it and the reason in its footnote. With
    the ``document`` that the score was built from, what no element of the standard tells is kept in one
    ``miscellaneous-field``, so that reading the file gives the same document. Raises ScoreError for a score with no
    bar.
    """
    from lxml import etree

    if not score.bars:
        raise ScoreError("a score needs at least one bar")
    root = etree.Element("score-partwise", version="4.0")
    add_head(root, score)
    part = add(root, "part", id="P1")
    spans = spans_of(score)
    divisions = _divisions(score)
    for index, bar in enumerate(score.bars):
        _add_bar(part, score, index, divisions, spans)
        if bar is score.bars[-1]:
            add(add(part[-1], "barline", location="right"), "bar-style", "light-heavy")
    if document is not None:
        _keep_the_rest(root, document)
    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True, doctype=DOCTYPE)
    return data


def _keep_the_rest(root: _Element, document: TakeDocument) -> None:
    """Add what the signs of the file do not tell of a take; nothing where it has no notes that could be read again."""
    take = take_to_json(document)
    if not take["notes"]:
        return
    plain = take_to_json(document_from_json(plain_take(root, parts_of(root), name=NO_FILE)))
    packed = packed_complement(take, plain)
    if packed is not None:
        fields = root.find("identification/miscellaneous")
        assert fields is not None
        add(fields, "miscellaneous-field", packed, name=FIELD)


def _divisions(score: Score) -> int:
    """Return how many parts of a quarter make every written length a whole number."""
    events = (event for bar in score.bars for voice in bar.voices for event in voice)
    denominators = [event.value.quarters.denominator for event in events]
    bars = (bar.length.denominator for bar in score.bars)
    return math.lcm(*denominators, *bars, *(mark.beat.denominator for mark in score.chords))


def _add_bar(part: _Element, score: Score, index: int, divisions: int, spans: Spans) -> None:
    bar = score.bars[index]
    pickup = {"implicit": "yes"} if bar.number == 0 else {}
    measure = add(part, "measure", number=str(bar.number), **pickup)
    if index == 0:
        add_attributes(measure, score, divisions)
        add_tempo(measure, score)
    shown = accidentals(bar, score.fifths)
    chords = [mark for mark in score.chords if mark.bar == bar.number]
    written = False
    for staff in (NOTATION, TAB):
        for voice_index, voice in enumerate(bar.voices):
            if written:
                add(add(measure, "backup"), "duration", int(bar.length * divisions))
            stem = ("up" if voice_index == 0 else "down") if len(bar.voices) > 1 else None
            voice_number = voice_index + 1 + VOICES_A_STAFF * (staff - NOTATION)
            pen = Pen(staff, voice_number, divisions, 60.0 / score.tempo_bpm, stem, spans, shown)
            _add_voice(measure, score, bar, voice, pen, [] if written else chords)
            written = True


def _add_voice(
    measure: _Element, score: Score, bar: Bar, voice: tuple[Event, ...], pen: Pen, chords: list[ChordMark]
) -> None:
    beams = beam_marks(voice, bar, score.meter)
    for index, event in enumerate(voice):
        for mark in chords:
            if event.beat <= mark.beat < event.beat + event.value.quarters:
                add_chord(measure, mark, mark.beat - event.beat, pen.divisions)
                add_cadence(measure, mark, mark.beat - event.beat, pen.divisions, pen.voice)
        if event.is_rest:
            whole_bar = len(voice) == 1 and bar.length == score.meter.bar_beats
            add_rest(measure, event, pen, whole_bar=whole_bar)
            continue
        _add_doubt_sign(measure, event, pen)
        _add_dashes(measure, event, pen, opening=True)
        _add_octave(measure, event, pen, pen.spans.octave_starts, "down")
        add_notes(measure, event, pen, beams[index])
        _add_octave(measure, event, pen, pen.spans.octave_stops, "stop")
        _add_dashes(measure, event, pen, opening=False)


def _add_doubt_sign(measure: _Element, event: Event, pen: Pen) -> None:
    """Add a question mark over notes to be checked; the reason stands in each note's footnote."""
    if pen.staff == NOTATION and any(head.take.id in pen.spans.doubts and not head.tied_from for head in event.notes):
        direction = add(measure, "direction", placement="above")
        add(add(direction, "direction-type"), "words", DOUBT_SIGN)
        add(direction, "voice", pen.voice)
        add(direction, "staff", pen.staff)


def _add_octave(measure: _Element, event: Event, pen: Pen, ends: frozenset[str], kind: str) -> None:
    """Add an end of 8va: "down" where notes begin to be shown an octave lower than they are, "stop" after the last."""
    if pen.staff == NOTATION and any(head.take.id in ends for head in event.notes):
        direction = add(measure, "direction", placement="above")
        add(add(direction, "direction-type"), "octave-shift", type=kind, size="8", number="1")
        add(direction, "voice", pen.voice)
        add(direction, "staff", pen.staff)


def _add_dashes(measure: _Element, event: Event, pen: Pen, *, opening: bool) -> None:
    """Add "P.M." or "let ring" and its dashes above the tab staff where a span begins, and their end where it ends."""
    if pen.staff != TAB:
        return
    for head in event.notes:
        if head.tied_from if opening else head.tied_to:
            continue
        for kind in (pen.spans.dash_starts if opening else pen.spans.dash_stops).get(head.take.id, ()):
            words, number = DASHES[kind]
            direction = add(measure, "direction", placement="above")
            if opening:
                add(add(direction, "direction-type"), "words", words)
            dashes = {"type": "start" if opening else "stop", "number": number}
            add(add(direction, "direction-type"), "dashes", **dashes)
            add(direction, "voice", pen.voice)
            add(direction, "staff", TAB)
