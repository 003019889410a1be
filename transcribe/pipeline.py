"""The table of contents: calls the rooms in order, nothing else."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from transcribe.audio.read import source_facts
from transcribe.choices import TakeChoices
from transcribe.document.analyse import analyse, with_backing_told
from transcribe.document.assemble import assemble
from transcribe.document.edit import with_fingering
from transcribe.document.model import Source, TakeDocument
from transcribe.evidence.string_sets import explanations
from transcribe.hearing import HEARD_SHARE, Progress
from transcribe.listening import listen
from transcribe.notes.note import Doubt
from transcribe.opening import instrument_of
from transcribe.rhythm import fit_rhythm, quantize, rhythm_doubts
from transcribe.rhythm.quantize import beats_of
from transcribe.settings import Settings
from transcribe.stringing import string_and_place


def draft_take(
    path: Path,
    choices: TakeChoices | None = None,
    *,
    settings: Settings | None = None,
    progress: Progress | None = None,
) -> TakeDocument:
    """Return everything heard and decided about the take in an audio or video file.

    ``progress`` is called with the stage in words and the share done, in turn but not always on the caller's thread.

    Raises ReadError for a file that cannot be read, TakeError for sound with nothing to hear in it, SettingsError for
    a passage outside the file.
    """
    choices, settings = choices or TakeChoices(), settings or Settings()
    report = progress or _silent

    facts = source_facts(path)
    told = listen(path, choices, settings, report, length_s=facts.duration_s)
    heard, board = told.heard, choices.fretboard
    source = Source(facts.file, facts.sha256, told.start_s, told.end_s - told.start_s, facts.sample_rate_hz)
    rhythm = fit_rhythm(
        heard.notes,
        settings.rhythm,
        tempo_bpm=choices.tempo_bpm,
        meter=choices.meter,
        first_downbeat_s=choices.first_downbeat_s,
        pickup_beats=choices.pickup_beats,
        feel=choices.feel,
        beat_times=told.beats,
    )
    report("placing on the neck", HEARD_SHARE)
    guitars = explanations(
        told.strings, [note.midi for note in heard.notes], board.open_midi, frets=board.frets, capo=board.capo
    )
    timings = quantize(heard.notes, rhythm, settings.rhythm)
    strung = string_and_place(heard.notes, guitars, board, profile=choices.profile, beats=beats_of(timings, rhythm))

    document = assemble(
        strung.notes,
        timings=timings,
        placements=(),
        doubts=[
            *(Doubt(remark) for remark in told.remarks),
            *heard.doubts,
            *rhythm_doubts(heard.notes, rhythm, settings.rhythm),
            *strung.doubts,
        ],
        instrument=replace(instrument_of(choices), tuning_offset_cents=heard.tuning_offset_cents),
        source=source,
        rhythm=rhythm,
        key=choices.key,
        choices={
            "network": choices.network,
            "voices": choices.voices,
            "profile": choices.profile,
            "second_opinion": choices.second_opinion,
        },
    )
    report("reading the harmony", HEARD_SHARE)
    fingered = with_fingering(document, strung.fingering)
    return analyse(with_backing_told(fingered, choices.vamp, choices.chords), settings.harmony)


def _silent(stage: str, share_done: float) -> None:
    return None
