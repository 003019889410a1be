"""A take as a JAMS file: notes, pitch contours, chords, key, tempo and beats, for programs that compare transcriptions.

Needs the package ``jams`` (an extra: ``takesheet[jams]``), imported only when a file is asked for.
"""

from __future__ import annotations

import math
import re
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from transcribe.document.model import TakeDocument, TakeNote
from transcribe.errors import MissingExtraError
from transcribe.harmony.chord_span import ChordSpan
from transcribe.rhythm.rhythm import Rhythm
from transcribe.units import hz_from_midi

UNWEIGHED = 1.0  # confidence of what nobody weighed, as of a note written by hand
SYMBOL = re.compile("([A-G][#b]?)(.*)")
NOTE = re.compile("[A-G][#b]?")
MAJOR_SCALE = (0, 2, 4, 5, 7, 9, 11)  # semitones
# Endings of chord symbols (common practice) and the shorthand of Harte et al.
LABELS = {
    "": "maj", "m": "min", "5": "(1,5)", "7": "7", "maj7": "maj7", "m7": "min7", "m7b5": "hdim7", "dim": "dim",
    "dim7": "dim7", "aug": "aug", "aug7": "aug7", "m(maj7)": "minmaj7", "6": "maj6", "m6": "min6", "sus2": "sus2",
    "sus4": "sus4", "7sus4": "sus4(b7)", "add9": "maj(9)", "m(add9)": "min(9)", "9": "9", "maj9": "maj9", "m9": "min9",
    "7b9": "7(b9)", "7#9": "7(#9)", "7b5": "7(b5,*5)", "11": "11", "13": "13",
}  # fmt: skip


def jams_bytes(document: TakeDocument, *, title: str = "") -> bytes:
    """Return the take as a JAMS file, checked by the package's own schema.

    One ``note_midi`` and one ``pitch_contour`` annotation tell the notes as they sounded: pitch with the deviation at
    rest, contour in hertz at the take's reference. ``beat`` counts the meter's beats, ``tempo`` the quarters a minute.
    ``chord`` and ``key_mode`` are there when the take has a rhythm and chords, or a key. Raises MissingExtraError when
    the package is not installed.

    References
    ----------
    E. J. Humphrey et al., "JAMS: a JSON annotated music specification for reproducible MIR research", ISMIR 2014.
    """
    jams = _package()
    end_s = max((item.note.offset_s for item in document.notes), default=0.0)
    duration_s = max(end_s, (document.source and document.source.duration_s) or 0.0)
    file = jams.JAMS()
    file.file_metadata.duration = duration_s
    file.file_metadata.title = title
    file.annotations.append(_notes(jams, document))
    file.annotations.append(_contours(jams, document))
    if document.rhythm is not None:
        file.annotations.append(_beats(jams, document.rhythm, duration_s))
        file.annotations.append(_tempo(jams, document.rhythm, duration_s))
    if document.rhythm is not None and document.chords:
        file.annotations.append(_chords(jams, document.chords, document.rhythm))
    if document.key is not None:
        key = _annotation(jams, "key_mode")
        confidence = UNWEIGHED if document.key.confidence is None else document.key.confidence
        value = f"{document.key.tonic}:{document.key.mode}"
        key.append(time=0.0, duration=duration_s, value=value, confidence=confidence)
        file.annotations.append(key)
    file.validate()
    return (str(file.dumps(indent=1)) + "\n").encode("utf-8")


def need_jams() -> None:
    """Return nothing when JAMS files can be written; else raise MissingExtraError. Told before a take is heard."""
    if find_spec("jams") is None:
        raise _missing()


def _package() -> Any:
    try:
        return import_module("jams")
    except ImportError as error:
        raise _missing() from error


def _missing() -> MissingExtraError:
    return MissingExtraError(
        "JAMS files need the package jams, which is not installed", 'Install it: pip install "takesheet[jams]"'
    )


def _annotation(jams: Any, namespace: str) -> Any:
    annotation = jams.Annotation(namespace=namespace)
    annotation.annotation_metadata.annotation_tools = "takesheet"
    return annotation


def _confidence(item: TakeNote) -> float:
    return UNWEIGHED if item.note.confidence is None else item.note.confidence


def _notes(jams: Any, document: TakeDocument) -> Any:
    annotation = _annotation(jams, "note_midi")
    for item in document.notes:
        note = item.note
        annotation.append(
            time=note.onset_s,
            duration=note.offset_s - note.onset_s,
            value=note.midi + (note.cents or 0.0) / 100.0,
            confidence=_confidence(item),
        )
    return annotation


def _contours(jams: Any, document: TakeDocument) -> Any:
    """Every reading of every contour; where no pitch could be read the note is unvoiced, at 0 Hz."""
    annotation = _annotation(jams, "pitch_contour")
    reference_hz = document.instrument.reference_hz
    for index, item in enumerate(document.notes):
        contour = item.note.contour
        for place, cents in enumerate(contour.cents if contour else ()):
            assert contour is not None
            midi = item.note.midi + (cents or 0.0) / 100.0
            hz = 0.0 if cents is None else float(hz_from_midi(midi, reference_hz=reference_hz))
            annotation.append(
                time=contour.start_s + place * contour.hop_s,
                duration=0.0,
                value={"index": index, "frequency": hz, "voiced": cents is not None},
                confidence=_confidence(item),
            )
    return annotation


def _beats(jams: Any, rhythm: Rhythm, duration_s: float) -> Any:
    """The meter's beats inside the take, counted from 1 in each bar."""
    annotation = _annotation(jams, "beat")
    beat_s = rhythm.beat_s * 4.0 / rhythm.meter.unit
    first = math.ceil(-rhythm.first_downbeat_s / beat_s)
    for count in range(first, first + int(duration_s / beat_s) + 1):
        time_s = rhythm.first_downbeat_s + count * beat_s
        if 0 <= time_s <= duration_s:
            annotation.append(time=time_s, duration=0.0, value=count % rhythm.meter.beats + 1, confidence=None)
    return annotation


def _tempo(jams: Any, rhythm: Rhythm, duration_s: float) -> Any:
    annotation = _annotation(jams, "tempo")
    annotation.append(time=0.0, duration=duration_s, value=rhythm.tempo_bpm, confidence=UNWEIGHED)
    return annotation


def _chords(jams: Any, chords: tuple[ChordSpan, ...], rhythm: Rhythm) -> Any:
    annotation = _annotation(jams, "chord")
    for chord in sorted(chords, key=lambda chord: chord.start_beat):
        start_s, end_s = (
            max(0.0, rhythm.first_downbeat_s + float(beat) * rhythm.beat_s)
            for beat in (chord.start_beat, chord.end_beat)
        )
        if start_s < end_s:
            value = chord_label(chord.symbol, chord.over)
            annotation.append(time=start_s, duration=end_s - start_s, value=value, confidence=UNWEIGHED)
    return annotation


def chord_label(symbol: str, over: str | None = None) -> str:
    """Return a chord in the labels JAMS uses; a quality those have no name for is told as the unknown chord, X.

    C. Harte et al., "Symbolic representation of musical chords", ISMIR 2005.

    >>> chord_label("Am7"), chord_label("G", "B"), chord_label("D7#9")
    ('A:min7', 'G:maj/3', 'D:7(#9)')
    """
    match = SYMBOL.fullmatch(symbol)
    if match is None or match[2] not in LABELS:
        return "X"
    root, ending = match.groups()
    bass = f"/{_degree(root, over)}" if over and NOTE.fullmatch(over) and over != root else ""
    return f"{root}:{LABELS[ending]}{bass}"


def _degree(root: str, bass: str) -> str:
    """The bass as a degree of the root's major scale: b3, 5, #4."""
    number = ("CDEFGAB".index(bass[0]) - "CDEFGAB".index(root[0])) % 7
    raised = (_semitone(bass) - _semitone(root) - MAJOR_SCALE[number] + 6) % 12 - 6
    return ("#" if raised > 0 else "b") * abs(raised) + str(number + 1)


def _semitone(name: str) -> int:
    return MAJOR_SCALE["CDEFGAB".index(name[0])] + name.count("#") - name.count("b")
