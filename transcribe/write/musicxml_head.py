"""What a MusicXML file says before its first note: title, encoding, what is told of the take, clefs, strings, tempo."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from transcribe.document.model import Instrument
from transcribe.score.score import Score
from transcribe.write.beams import beat_length
from transcribe.write.musicxml_note import NOTATION, TAB, add

if TYPE_CHECKING:
    from lxml.etree import _Element

GENERAL_MIDI_PROGRAM = 26  # steel-string guitar; MusicXML counts programs from 1
# Open strings are named with flats, but for F sharp (common practice: D A D F# A D, yet Eb Ab Db F# Bb Eb).
STRING_NAMES = (
    ("C", 0), ("D", -1), ("D", 0), ("E", -1), ("E", 0), ("F", 0),
    ("F", 1), ("G", 0), ("A", -1), ("A", 0), ("B", -1), ("B", 0),
)  # fmt: skip


def add_head(root: _Element, score: Score) -> None:
    """Add title, encoding, what the standard has no element for, and the one part's name and sound."""
    add(add(root, "work"), "work-title", score.title)
    identification = add(root, "identification")
    encoding = add(identification, "encoding")
    add(encoding, "software", f"takesheet {_version()}".strip())
    add(encoding, "supports", element="accidental", type="yes")
    add(encoding, "supports", element="beam", type="yes")
    add(encoding, "supports", element="stem", type="no")
    _add_take(add(identification, "miscellaneous"), score)
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


def _add_take(miscellaneous: _Element, score: Score) -> None:
    """Add what a reader of the sheet should know and the standard has no element for, as its miscellaneous fields."""
    guitar, key = score.instrument, score.key
    fields: list[tuple[str, object]] = [
        ("tempo source", "given" if score.tempo_is_given else "estimated"),
        ("first downbeat s", f"{score.first_downbeat_s:.4f}"),
        ("key source", key and key.source),
        ("key confidence", key and key.confidence),
        ("frets", guitar.frets),
        ("scale length mm", guitar.scale_length_mm),
        ("reference hz", guitar.reference_hz),
        ("tuning offset cents", guitar.tuning_offset_cents),
        ("vamp", score.vamp),
        ("about", score.about),
        *(("doubt", doubt.why) for doubt in score.doubts if doubt.note is None),
    ]
    for name, value in fields:
        if value is not None:
            add(miscellaneous, "miscellaneous-field", str(value), name=name)


def add_attributes(measure: _Element, score: Score, divisions: int) -> None:
    """Add divisions, key, time, the two staves' clefs and the strings of the tab staff."""
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


def add_tempo(measure: _Element, score: Score) -> None:
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
    sound = add(direction, "sound", tempo=f"{score.tempo_bpm:.4f}".rstrip("0").rstrip("."))
    if score.swing:
        swing = add(sound, "swing")
        add(swing, "first", 2)
        add(swing, "second", 1)
        add(swing, "swing-type", "eighth")
