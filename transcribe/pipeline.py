"""The table of contents: calls the rooms in order, nothing else."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from transcribe.audio.condition import Conditioned, condition
from transcribe.audio.read import read_recording, source_facts
from transcribe.choices import TakeChoices
from transcribe.document.analyse import analyse, with_backing_told
from transcribe.document.assemble import assemble
from transcribe.document.edit import with_fingering
from transcribe.document.model import Source, TakeDocument
from transcribe.errors import TakeError
from transcribe.evidence.crepe import crepe_evidence
from transcribe.evidence.network import voice_maps
from transcribe.evidence.string_sets import Explanation
from transcribe.notes.hear import Heard, hear_notes
from transcribe.notes.hear_voices import hear_voices, sounds_together
from transcribe.notes.note import Doubt, Note
from transcribe.notes.strange_take import with_strange_told
from transcribe.notes.string_clue import string_explanations
from transcribe.notes.surer import doubts_itself, surer
from transcribe.notes.voices import Voice, find_voices
from transcribe.notes.weigh import Voices, heard_voices
from transcribe.opening import instrument_of
from transcribe.rhythm import BeatTimes, fit_rhythm, quantize, rhythm_doubts
from transcribe.rhythm.clicks import click_beats, heard_clicks, without_clicks
from transcribe.settings import Settings
from transcribe.stringing import string_and_place
from transcribe.units import CONCERT_A_HZ

Progress = Callable[[str, float], None]  # stage in words, share of the take done (0 to 1)

# Where the stages end, as shares of the time a ten-second take needs on two cores.
READ_SHARE, VOICES_SHARE, NETWORK_SHARE, HEARD_SHARE = 0.1, 0.3, 0.6, 0.9


def draft_take(
    path: Path,
    choices: TakeChoices | None = None,
    *,
    settings: Settings | None = None,
    progress: Progress | None = None,
) -> TakeDocument:
    """Return everything heard and decided about the take in an audio or video file.

    Raises ReadError for a file that cannot be read, TakeError for sound with nothing to hear in it, SettingsError for
    a passage outside the file.
    """
    choices, settings = choices or TakeChoices(), settings or Settings()
    report = progress or _silent

    source, take = _read(path, choices, settings, report)
    heard = _hear(take, choices, settings, report)

    report("finding the beat", HEARD_SHARE)
    beats, heard = _beats_told(take, heard, choices)
    rhythm = fit_rhythm(
        heard.notes,
        settings.rhythm,
        tempo_bpm=choices.tempo_bpm,
        meter=choices.meter,
        first_downbeat_s=choices.first_downbeat_s,
        pickup_beats=choices.pickup_beats,
        feel=choices.feel,
        beat_times=beats,
    )
    report("placing on the neck", HEARD_SHARE)
    strung = string_and_place(
        heard.notes, _strings_heard(take, heard, choices), choices.fretboard, profile=choices.profile
    )

    document = assemble(
        strung.notes,
        timings=quantize(heard.notes, rhythm, settings.rhythm),
        placements=(),
        doubts=[
            *(Doubt(remark) for remark in take.remarks),
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


def _read(path: Path, choices: TakeChoices, settings: Settings, report: Progress) -> tuple[Source, Conditioned]:
    recording = read_recording(
        path,
        from_s=choices.from_s,
        to_s=choices.to_s,
        settings=settings.audio,
        progress=lambda share: report("reading", READ_SHARE * share),
    )
    facts = source_facts(path)
    source = Source(facts.file, facts.sha256, recording.start_s, recording.duration_s, facts.sample_rate_hz)
    return source, condition(recording, settings.audio, accept_clipping=choices.accept_clipping)


def _hear(take: Conditioned, choices: TakeChoices, settings: Settings, report: Progress) -> Heard:
    maps, second = None, None
    voices: tuple[Voice, ...] = ()
    if choices.voices != "one":
        maps = voice_maps(
            take.recording,
            threads=settings.evidence.network_threads,
            progress=lambda done, of: report("listening", READ_SHARE + (VOICES_SHARE - READ_SHARE) * done / max(of, 1)),
        )
        voices = find_voices(maps)
        if choices.voices == "auto" and not sounds_together(voices):
            second = heard_voices(maps, voices)
    if maps is not None and second is None:
        report("finding notes, bends and slides", NETWORK_SHARE)
        heard = hear_voices(take.recording, maps, settings, reference_hz=choices.reference_hz)
    else:
        heard = _hear_one_line(take, choices, settings, report, second)
        if maps is not None and doubts_itself(heard, len(voices)):
            heard = surer(heard, hear_voices(take.recording, maps, settings, reference_hz=choices.reference_hz))
    heard = with_strange_told(take.recording, heard, settings.notes, reference_hz=choices.reference_hz)
    if not heard.notes:
        raise TakeError(
            "no guitar notes were heard in this take",
            "Check that the right passage was chosen; --from and --to cut out another.",
        )
    if choices.second_opinion:
        from transcribe.notes.doubts import second_opinion_doubts

        report("asking the second tracker", NETWORK_SHARE)
        more = second_opinion_doubts(take.recording, heard.notes, heard.tuning_offset_cents)
        heard = replace(heard, doubts=(*heard.doubts, *more))
    return replace(heard, notes=tuple(_at_recorded_level(note, take.gain_db) for note in heard.notes))


def _beats_told(take: Conditioned, heard: Heard, choices: TakeChoices) -> tuple[BeatTimes | None, Heard]:
    """The beats that taps, or else a click in the take, tell, and what was heard without the clicks.

    A tempo that was given stands; the clicks are left out of the notes all the same.
    """
    told = BeatTimes(choices.taps_s, starts_bar=False) if choices.taps_s else None
    clicks = heard_clicks(take.recording.samples, take.recording.rate_hz)
    if clicks is None:
        return told, heard
    start_s = take.recording.start_s
    clicks = replace(clicks, times_s=tuple(start_s + time for time in clicks.times_s))
    kept = without_clicks(heard.notes, clicks)
    if not kept:
        return told, heard
    names = {note.id for note in kept}
    doubts = tuple(doubt for doubt in heard.doubts if doubt.note is None or doubt.note in names)
    if told is None and choices.tempo_bpm is None:
        told = click_beats(clicks, kept, bar_beats=choices.meter.beats if choices.meter else None)
    return told, replace(heard, notes=kept, doubts=doubts)


def _hear_one_line(
    take: Conditioned, choices: TakeChoices, settings: Settings, report: Progress, second: Voices | None
) -> Heard:
    evidence = crepe_evidence(
        take.recording,
        settings.evidence,
        size=choices.network,
        progress=lambda done, total: report(
            "listening", VOICES_SHARE + (NETWORK_SHARE - VOICES_SHARE) * done / max(total, 1)
        ),
    )
    report("finding notes, bends and slides", NETWORK_SHARE)
    return hear_notes(take.recording, evidence, settings, reference_hz=choices.reference_hz, second=second)


def _strings_heard(take: Conditioned, heard: Heard, choices: TakeChoices) -> tuple[Explanation, ...]:
    board = choices.fretboard
    return string_explanations(
        take.recording,
        heard.notes,
        open_midi=board.open_midi,
        frets=board.frets,
        capo=board.capo,
        tuning_semitones=12.0 * math.log2(choices.reference_hz / CONCERT_A_HZ) + heard.tuning_offset_cents / 100.0,
    )


def _at_recorded_level(note: Note, gain_db: float) -> Note:
    return note if note.level_db is None else replace(note, level_db=note.level_db - gain_db)


def _silent(stage: str, share_done: float) -> None:
    return None
