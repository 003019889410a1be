"""A file to what is heard in it: short takes whole, long ones a passage at a time."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from fingering.fretboard import Fretboard
from transcribe.audio.condition import Conditioned, condition, is_silent
from transcribe.audio.read import read_recording
from transcribe.choices import TakeChoices
from transcribe.errors import ReadError, SettingsError, TakeError
from transcribe.evidence.crepe import crepe_evidence
from transcribe.evidence.network import voice_maps
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.long_take import (
    AFTER_S,
    BEFORE_S,
    LONG_S,
    PASSAGE_S,
    Listened,
    beginning_in,
    check_length,
    joined,
    meeting_s,
)
from transcribe.measured import clicks_in, measure_ahead
from transcribe.notes.hear import Heard, hear_notes
from transcribe.notes.hear_voices import hear_voices, sounds_together
from transcribe.notes.note import Note
from transcribe.notes.strange_take import with_strange_told
from transcribe.notes.string_clue import string_readings
from transcribe.notes.surer import better
from transcribe.notes.voices import find_voices
from transcribe.notes.weigh import Voices, heard_voices
from transcribe.rhythm import BeatTimes
from transcribe.rhythm.clicks import click_beats, without_clicks
from transcribe.settings import Settings
from transcribe.units import CONCERT_A_HZ

Progress = Callable[[str, float], None]  # stage in words, share of the take done (0 to 1)

# Where the stages end, as shares of the time a ten-second take needs on two cores.
READ_SHARE, VOICES_SHARE, NETWORK_SHARE, HEARD_SHARE = 0.1, 0.3, 0.6, 0.9
_BREAKS_OFF = "The sound cannot be read from {} on: what was played after it is not in this draft."


def listen(
    path: Path, choices: TakeChoices, settings: Settings, report: Progress, *, length_s: float | None
) -> Listened:
    """Return what is heard in a file of a declared length, from ``choices.from_s`` to ``choices.to_s``.

    Raises ReadError for a file that cannot be read, TakeError for sound with nothing to hear in it, SettingsError for
    a passage outside the file.
    """
    from threadpoolctl import threadpool_limits

    with threadpool_limits(1, user_api="blas"):  # our threads share the cores; more, for small matrices, only wait
        return _heard_in(path, choices, settings, report, length_s)


def _heard_in(
    path: Path, choices: TakeChoices, settings: Settings, report: Progress, length_s: float | None
) -> Listened:
    first_s = choices.from_s or 0.0
    last_s = min(math.inf if choices.to_s is None else choices.to_s, math.inf if length_s is None else length_s)
    if math.isinf(last_s) or last_s - first_s <= LONG_S:
        told = _passage(path, choices, settings, report)
    else:
        check_length(last_s - first_s)
        told = joined(tuple(_passages(path, choices, settings, report, first_s, last_s)))
    if not told.heard.notes:
        raise TakeError(
            "no guitar notes were heard in this take",
            "Check that the right passage was chosen; --from and --to cut out another.",
        )
    return told


def _passage(path: Path, choices: TakeChoices, settings: Settings, report: Progress) -> Listened:
    take = _read(path, choices, settings, report)
    return _listened(take, choices, settings, report)


def _passages(
    path: Path, choices: TakeChoices, settings: Settings, report: Progress, first_s: float, last_s: float
) -> Iterator[Listened]:
    """Each passage of a long take; a silent one is passed over. Where the sound breaks off the last one says so."""
    at_s = first_s
    latest: Listened | None = None
    while at_s < last_s:
        until_s = last_s if last_s - at_s <= 1.5 * PASSAGE_S else at_s + PASSAGE_S
        part = replace(choices, from_s=max(first_s, at_s - BEFORE_S), to_s=min(last_s, until_s + AFTER_S))

        try:
            recording = read_recording(path, from_s=part.from_s, to_s=part.to_s, settings=settings.audio)
        except (ReadError, SettingsError):
            if latest is None:
                raise
            latest = replace(latest, remarks=(*latest.remarks, _BREAKS_OFF.format(_clock(at_s))))
            break
        meets_s = last_s if until_s == last_s else meeting_s(recording, until_s)
        if is_silent(recording, settings.audio) and (latest is not None or until_s < last_s):
            at_s = meets_s
            continue
        take = condition(recording, settings.audio, accept_clipping=choices.accept_clipping)
        if latest is not None:
            yield latest

        def told(stage: str, share: float, begun: float = at_s, end: float = meets_s) -> None:
            done_s = begun - first_s + (end - begun) * min(1.0, share / HEARD_SHARE)
            report(stage, HEARD_SHARE * done_s / (last_s - first_s))

        latest = beginning_in(_listened(take, part, settings, told), at_s, meets_s)
        at_s = meets_s
    if latest is not None:
        yield latest


def _clock(time_s: float) -> str:
    return f"{int(time_s) // 60}:{int(time_s) % 60:02}"


def _listened(take: Conditioned, choices: TakeChoices, settings: Settings, report: Progress) -> Listened:
    heard = _hear(take, choices, settings, report)
    report("finding the beat", HEARD_SHARE)
    beats, heard = _beats_told(take, heard, choices)
    tuning_semitones = 12.0 * math.log2(choices.reference_hz / CONCERT_A_HZ) + heard.tuning_offset_cents / 100.0
    strings = string_readings(take.recording, heard.notes, tuning_semitones=tuning_semitones)
    recording = take.recording
    return Listened(heard, strings, take.remarks, beats, recording.start_s, recording.end_s)


def _read(path: Path, choices: TakeChoices, settings: Settings, report: Progress) -> Conditioned:
    recording = read_recording(
        path,
        from_s=choices.from_s,
        to_s=choices.to_s,
        settings=settings.audio,
        progress=lambda share: report("reading", READ_SHARE * share),
    )
    return condition(recording, settings.audio, accept_clipping=choices.accept_clipping)


def _hear(take: Conditioned, choices: TakeChoices, settings: Settings, report: Progress) -> Heard:
    maps, second = None, None
    if choices.voices != "one":
        maps = voice_maps(
            take.recording,
            threads=settings.evidence.network_threads,
            progress=lambda done, of: report("listening", READ_SHARE + (VOICES_SHARE - READ_SHARE) * done / max(of, 1)),
        )
        if choices.voices == "auto":
            voices = find_voices(maps)
            if not sounds_together(voices):
                second = heard_voices(maps, voices)
    if maps is not None and second is None:
        report("finding notes, bends and slides", NETWORK_SHARE)
        with ThreadPoolExecutor(1) as beside:
            ahead = beside.submit(measure_ahead, take.recording, settings)
            heard = hear_voices(take.recording, maps, settings, reference_hz=choices.reference_hz)
            ahead.result()  # what went wrong there is told
    else:
        heard = _hear_one_line(take, choices, settings, report, maps, second)
    heard = with_strange_told(take.recording, heard, settings.notes, reference_hz=choices.reference_hz)
    if choices.second_opinion and heard.notes:
        from transcribe.notes.doubts import second_opinion_doubts

        report("asking the second tracker", NETWORK_SHARE)
        more = second_opinion_doubts(
            take.recording, heard.notes, heard.tuning_offset_cents, reference_hz=choices.reference_hz
        )
        heard = replace(heard, doubts=(*heard.doubts, *more))
    notes = tuple(_at_recorded_level(note, take.gain_db) for note in heard.notes)
    return replace(heard, notes=with_nodes(notes, choices.fretboard))


def _beats_told(take: Conditioned, heard: Heard, choices: TakeChoices) -> tuple[BeatTimes | None, Heard]:
    """The beats that taps, or else a click in the take, tell, and what was heard without the clicks.

    A tempo that was given stands; the clicks are left out of the notes all the same.
    """
    told = BeatTimes(choices.taps_s, starts_bar=False) if choices.taps_s else None
    clicks = clicks_in(take.recording)
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
    take: Conditioned,
    choices: TakeChoices,
    settings: Settings,
    report: Progress,
    maps: VoiceMaps | None,
    second: Voices | None,
) -> Heard:
    """A single line; what the maps of several voices say of it is heard while the network of one voice works."""
    several: list[Heard] = []

    def meanwhile() -> None:
        measure_ahead(take.recording, settings)
        if maps is not None:
            several.append(hear_voices(take.recording, maps, settings, reference_hz=choices.reference_hz))

    evidence = crepe_evidence(
        take.recording,
        settings.evidence,
        size=choices.network,
        progress=lambda done, total: report(
            "listening", VOICES_SHARE + (NETWORK_SHARE - VOICES_SHARE) * done / max(total, 1)
        ),
        meanwhile=meanwhile,
    )
    report("finding notes, bends and slides", NETWORK_SHARE)
    line = hear_notes(take.recording, evidence, settings, reference_hz=choices.reference_hz, second=second)
    return better(line, several[0]) if several else line


def with_nodes(notes: tuple[Note, ...], fretboard: Fretboard) -> tuple[Note, ...]:
    """Return the notes, harmonics taken for fretted where no string of this tuning has a node of their pitch."""
    return tuple(
        replace(note, harmonic="none")
        if note.harmonic == "natural" and not fretboard.harmonic_places(note.midi)
        else note
        for note in notes
    )


def _at_recorded_level(note: Note, gain_db: float) -> Note:
    return note if note.level_db is None else replace(note, level_db=note.level_db - gain_db)
