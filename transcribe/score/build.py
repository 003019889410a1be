"""A take document to notation: bars filled exactly, voices, ties, rests, triplets, names and key signature."""

from __future__ import annotations

from collections.abc import Mapping

from transcribe.document.model import TakeDocument
from transcribe.rhythm.beats import fit_rhythm
from transcribe.rhythm.quantize import quantize
from transcribe.rhythm.rhythm import Rhythm, Timing
from transcribe.score.bars import with_pickup, write_bars
from transcribe.score.bent import Names, names_of
from transcribe.score.chord_marks import chord_marks
from transcribe.score.score import Score
from transcribe.score.spans import technique_spans
from transcribe.score.tones import tones_of
from transcribe.score.voices import split_voices

UNTITLED = "Untitled lick"


def build_score(document: TakeDocument, *, title: str = UNTITLED) -> Score:
    """Return the take as notation, in one voice, or in two where notes ring under others.

    A document without rhythm (pitches and times alone) gets one fitted. Written places are kept where every note has
    one; otherwise all are found anew. What rings on and cannot be shown in two voices is cut at the next note, under a
    let-ring span.
    """
    rhythm = document.rhythm or fit_rhythm([item.note for item in document.notes])
    tones = tones_of(document.notes, _timings(document, rhythm), rhythm)
    voices = split_voices(tones)
    rhythm, voices, moved = with_pickup(rhythm, voices)
    bars = write_bars(voices, _names(document), rhythm)
    return Score(
        title=title,
        bars=bars,
        meter=rhythm.meter,
        tempo_bpm=rhythm.tempo_bpm,
        tempo_is_given=rhythm.tempo_source != "estimated",
        swing=rhythm.feel == "swing",
        key=document.key,
        fifths=document.key.fifths if document.key else 0,
        instrument=document.instrument,
        doubts=document.doubts,
        chords=chord_marks(document.chords, bars, rhythm, moved),
        spans=technique_spans(bars, voices.cut),
        about=document.about,
        vamp=document.vamp,
        first_downbeat_s=rhythm.first_downbeat_s - float(moved) * rhythm.beat_s,
    )


def _timings(document: TakeDocument, rhythm: Rhythm) -> Mapping[str, Timing]:
    written = {item.id: item.timing for item in document.notes if item.timing is not None}
    if document.rhythm is not None and len(written) == len(document.notes):
        return written
    return quantize([item.note for item in document.notes], rhythm)


def _names(document: TakeDocument) -> Mapping[str, Names]:
    line = sorted(document.notes, key=lambda item: (item.note.onset_s, -item.note.midi, item.id))
    return names_of(line, document.key, document.instrument)
