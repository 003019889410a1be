"""A score as MusicXML 4.0: one part on two staves, notation above tab."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from transcribe.document.model import Instrument
from transcribe.errors import ScoreError
from transcribe.score.score import Bar, Event, Score, ScoreNote
from transcribe.write.beams import beam_marks, beat_length
from transcribe.write.musicxml_marks import Spans, spans_of
from transcribe.write.musicxml_note import NOTATION, TAB, Pen, add, add_notes, add_rest

if TYPE_CHECKING:
    from lxml.etree import _Element

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
VOICES_A_STAFF = 4  # the tab staff's voices follow the notation staff's four, as readers expect (common practice)
GENERAL_MIDI_PROGRAM = 26  # steel-string guitar; MusicXML counts programs from 1
SHARP_ORDER = "FCGDAEB"  # sharps join the key signature in this order, flats in the reverse one
NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, Char
# Open strings are named with flats, but for F sharp (common practice: D A D F# A D, yet Eb Ab Db F# Bb Eb).
STRING_NAMES = (
    ("C", 0), ("D", -1), ("D", 0), ("E", -1), ("E", 0), ("F", 0),
    ("F", 1), ("G", 0), ("A", -1), ("A", 0), ("B", -1), ("B", 0),
)  # fmt: skip


def musicxml_bytes(score: Score) -> bytes:
    """Return the score as an uncompressed MusicXML 4.0 file (W3C Community Group report, June 2021).

    The notation staff has a treble clef an octave down; pitches are given as they sound. The tab staff carries string,
    fret, finger, bends, hammer-ons, pull-offs and slides. Raises ScoreError for a score with no bar.
    """
    from lxml import etree

    if not score.bars:
        raise ScoreError("a score needs at least one bar")
    root = etree.Element("score-partwise", version="4.0")
    _add_head(root, score)
    part = add(root, "part", id="P1")
    spans = spans_of(score)
    divisions = _divisions(score)
    for index, bar in enumerate(score.bars):
        _add_bar(part, score, index, divisions, spans)
        if bar is score.bars[-1]:
            add(add(part[-1], "barline", location="right"), "bar-style", "light-heavy")
    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True, doctype=DOCTYPE)
    return data


def _divisions(score: Score) -> int:
    """Return how many parts of a quarter make every written length a whole number."""
    events = (event for bar in score.bars for voice in bar.voices for event in voice)
    denominators = [event.value.quarters.denominator for event in events]
    return math.lcm(*denominators, *(bar.length.denominator for bar in score.bars))


def _add_head(root: _Element, score: Score) -> None:
    add(add(root, "work"), "work-title", NOT_XML.sub("", score.title))
    encoding = add(add(root, "identification"), "encoding")
    add(encoding, "software", f"takesheet {_version()}".strip())
    add(encoding, "supports", element="accidental", type="yes")
    add(encoding, "supports", element="beam", type="yes")
    add(encoding, "supports", element="stem", type="no")
    part = add(add(root, "part-list"), "score-part", id="P1")
    add(part, "part-name", "Guitar")
    instrument = add(part, "score-instrument", id="P1-I1")
    add(instrument, "instrument-name", "Guitar")
    add(instrument, "instrument-sound", "pluck.guitar")
    midi = add(part, "midi-instrument", id="P1-I1")
    add(midi, "midi-channel", 1)
    add(midi, "midi-program", GENERAL_MIDI_PROGRAM)


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("takesheet")
    except PackageNotFoundError:  # run from a folder that was never installed
        return ""


def _add_bar(part: _Element, score: Score, index: int, divisions: int, spans: Spans) -> None:
    bar = score.bars[index]
    pickup = {"implicit": "yes"} if bar.number == 0 else {}
    measure = add(part, "measure", number=str(bar.number), **pickup)
    if index == 0:
        _add_attributes(measure, score, divisions)
        _add_tempo(measure, score)
    written = False
    for staff in (NOTATION, TAB):
        for voice_index, voice in enumerate(bar.voices):
            if written:
                add(add(measure, "backup"), "duration", int(bar.length * divisions))
            stem = ("up" if voice_index % 2 == 0 else "down") if len(bar.voices) > 1 else None
            voice_number = voice_index + 1 + VOICES_A_STAFF * (staff - NOTATION)
            pen = Pen(staff, voice_number, divisions, 60.0 / score.tempo_bpm, stem, spans)
            _add_voice(measure, score, bar, voice, pen)
            written = True


def _add_attributes(measure: _Element, score: Score, divisions: int) -> None:
    attributes = add(measure, "attributes")
    add(attributes, "divisions", divisions)
    key = add(attributes, "key")
    add(key, "fifths", score.fifths)
    if score.key:
        add(key, "mode", score.key.mode)
    time = add(attributes, "time")
    add(time, "beats", score.meter.beats)
    add(time, "beat-type", score.meter.unit)
    add(attributes, "staves", 2)
    treble = add(attributes, "clef", number=str(NOTATION))
    add(treble, "sign", "G")
    add(treble, "line", 2)
    add(treble, "clef-octave-change", -1)
    tab = add(attributes, "clef", number=str(TAB))
    add(tab, "sign", "TAB")
    add(tab, "line", 5)
    _add_strings(attributes, score.instrument)


def _add_strings(attributes: _Element, instrument: Instrument) -> None:
    """Add the tab staff's lines, counted from the bottom: line 1 is the lowest string, without the capo."""
    details = add(attributes, "staff-details", number=str(TAB))
    add(details, "staff-lines", len(instrument.open_strings_midi))
    for line, midi in enumerate(reversed(instrument.open_strings_midi), start=1):
        tuning = add(details, "staff-tuning", line=str(line))
        step, alter = STRING_NAMES[midi % 12]
        add(tuning, "tuning-step", step)
        if alter:
            add(tuning, "tuning-alter", alter)
        add(tuning, "tuning-octave", midi // 12 - 1)
    if instrument.capo:
        add(details, "capo", instrument.capo)


def _add_tempo(measure: _Element, score: Score) -> None:
    """Add the tempo: the beat a player taps, marked "ca." where it was only estimated; swing in words and in sound."""
    direction = add(measure, "direction", placement="above")
    metronome = add(add(direction, "direction-type"), "metronome")
    beat = beat_length(score.meter)
    add(metronome, "beat-unit", {2: "half", 4: "whole"}.get(int(beat), "quarter"))
    if beat == Fraction(3, 2):
        add(metronome, "beat-unit-dot")
    per_minute = f"{score.tempo_bpm / float(beat):.0f}"
    add(metronome, "per-minute", per_minute if score.tempo_is_given else f"ca. {per_minute}")
    if score.swing:
        add(add(direction, "direction-type"), "words", "Swing")
    add(direction, "staff", NOTATION)
    sound = add(direction, "sound", tempo=f"{score.tempo_bpm:.2f}")
    if score.swing:
        swing = add(sound, "swing")
        add(swing, "first", 2)
        add(swing, "second", 1)
        add(swing, "swing-type", "eighth")


def _add_voice(measure: _Element, score: Score, bar: Bar, voice: tuple[Event, ...], pen: Pen) -> None:
    if not voice:
        rest = add(measure, "note")
        add(rest, "rest", measure="yes")
        add(rest, "duration", int(bar.length * pen.divisions))
        add(rest, "voice", pen.voice)
        add(rest, "staff", pen.staff)
        return
    beams = beam_marks(voice, bar, score.meter)
    shown = _accidentals(voice, score.fifths)
    for index, event in enumerate(voice):
        if event.is_rest:
            whole_bar = len(voice) == 1 and bar.length == score.meter.bar_beats
            add_rest(measure, event, pen, whole_bar=whole_bar)
            continue
        _add_palm_mute(measure, event, pen, opening=True)
        add_notes(measure, event, pen, beams[index], next(shown))
        _add_palm_mute(measure, event, pen, opening=False)


def _add_palm_mute(measure: _Element, event: Event, pen: Pen, *, opening: bool) -> None:
    """Add "P.M." and its dashes above the tab staff where a run of palm mutes begins, and their end where it ends."""
    name = event.notes[0].take.id
    begins = opening and name in pen.spans.palm_starts and not event.notes[0].tied_from
    ends = not opening and name in pen.spans.palm_stops and not event.notes[0].tied_to
    if pen.staff != TAB or not (begins or ends):
        return
    direction = add(measure, "direction", placement="above")
    if begins:
        add(add(direction, "direction-type"), "words", "P.M.")
    add(add(direction, "direction-type"), "dashes", type="start" if begins else "stop", number=str(pen.voice))
    add(direction, "voice", pen.voice)
    add(direction, "staff", TAB)


def _accidentals(voice: tuple[Event, ...], fifths: int) -> Iterator[tuple[int | None, ...]]:
    """Yield for each event with notes which accidentals to show: those the signature and the bar do not tell yet."""
    told: dict[tuple[str, int], int] = {}

    def shown(note: ScoreNote) -> int | None:
        name = note.spelled
        before = told.get((name.step, name.octave), signature_alter(name.step, fifths))
        if note.tied_from:  # tied over the bar line: the earlier bar showed it
            return None
        told[name.step, name.octave] = name.alter
        return None if name.alter == before else name.alter

    for event in voice:
        if not event.is_rest:
            yield tuple(shown(note) for note in event.notes)


def signature_alter(step: str, fifths: int) -> int:
    """Return how the key signature alters a letter: 1 for a sharp, -1 for a flat.

    >>> signature_alter("F", 1), signature_alter("B", -1), signature_alter("C", 0)
    (1, -1, 0)
    """
    if fifths >= 0:
        return 1 if step in SHARP_ORDER[:fifths] else 0
    return -1 if step in SHARP_ORDER[fifths:] else 0
