"""A file to what is heard in it: short takes whole, long ones a passage at a time."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from transcribe.audio.condition import Conditioned, condition, is_silent
from transcribe.audio.read import read_recording
from transcribe.audio.read_remarks import ends_before
from transcribe.choices import TakeChoices
from transcribe.errors import ReadError, SettingsError, TakeError
from transcribe.hearing import HEARD_SHARE, READ_SHARE, Progress, hear_take
from transcribe.long_take import (
    AFTER_S,
    BEFORE_S,
    LONG_S,
    PASSAGE_S,
    Listened,
    beginning_in,
    breaking_off,
    check_length,
    ending,
    joined,
    longest_s,
    meeting_s,
    not_heard,
    share_done,
    unheard,
)
from transcribe.measured import clicks_in
from transcribe.notes.hear import Heard
from transcribe.notes.string_clue import string_readings
from transcribe.rhythm import BeatTimes
from transcribe.rhythm.clicks import click_beats, without_clicks
from transcribe.settings import Settings
from transcribe.units import CONCERT_A_HZ


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
    refused: list[TakeError] = []
    if not _is_long(path, settings, first_s, last_s, length_s):
        told = _listened(_read(path, choices, settings, report), choices, settings, report)
    else:
        told = joined(tuple(_passages(path, choices, settings, report, first_s, last_s, length_s, refused)))
    if not told.heard.notes:
        nothing = TakeError(
            "no guitar notes were heard in this take",
            "Check that the right passage was chosen; --from and --to cut out another.",
        )
        raise refused[0] if refused else nothing
    return told


def _is_long(path: Path, settings: Settings, first_s: float, last_s: float, length_s: float | None) -> bool:
    """Whether a take is heard by passages; where the file does not tell its length, the sound itself is asked."""
    if length_s is not None:
        check_length(last_s - first_s)
    if length_s is not None or last_s - first_s <= LONG_S:
        return last_s - first_s > LONG_S
    long_s = first_s + LONG_S
    begun = read_recording(path, from_s=first_s, to_s=long_s, to_s_asked=False, settings=settings.audio)
    return not ends_before(begun.end_s, long_s)


def _passages(
    path: Path,
    choices: TakeChoices,
    settings: Settings,
    report: Progress,
    first_s: float,
    last_s: float,
    length_s: float | None,
    refused: list[TakeError],
) -> Iterator[Listened]:
    """Each passage of a long take, without notes where it is silent or ``refused``; the last tells how the sound ends.

    It is the one in which the sound ends where no length is known, else the last that can be read.
    """
    whole_s = last_s - first_s if math.isfinite(last_s) else None
    limit_s = first_s + longest_s() if length_s is None else math.inf
    last_s = min(last_s, limit_s)
    at_s, meets_s, heard = first_s, first_s, False
    latest: Listened | None = None
    while meets_s < last_s:
        begun_s, at_s = at_s, meets_s
        until_s = last_s if last_s - at_s <= 1.5 * PASSAGE_S else at_s + PASSAGE_S
        part = replace(choices, from_s=max(first_s, at_s - BEFORE_S), to_s=min(last_s, until_s + AFTER_S))
        try:
            recording = read_recording(
                path, from_s=part.from_s, to_s=part.to_s, to_s_asked=False, settings=settings.audio
            )
        except (ReadError, SettingsError, TakeError):
            if latest is None:
                raise
            yield breaking_off(beginning_in(latest, begun_s, math.inf))
            return
        if latest is not None:
            yield beginning_in(latest, begun_s, at_s)
        if length_s is None and ends_before(recording.end_s, min(last_s, until_s + AFTER_S)):
            until_s = last_s = recording.end_s
        meets_s = last_s if until_s == last_s else meeting_s(recording, until_s)

        def told(stage: str, share: float, done_s: float = at_s - first_s, end_s: float = meets_s) -> None:
            done_s += (end_s - first_s - done_s) * min(1.0, share / HEARD_SHARE)
            report(stage, HEARD_SHARE * share_done(done_s, whole_s))

        if is_silent(recording, settings.audio) and (heard or refused or until_s < last_s):
            latest = unheard(recording)
            continue
        try:
            take = condition(recording, settings.audio, accept_clipping=choices.accept_clipping)
        except TakeError as error:
            refused.append(error)
            latest = unheard(recording, not_heard(at_s, min(meets_s, recording.end_s), error))
        else:
            latest, heard = _listened(take, part, settings, told), True
    if latest is not None:
        yield ending(beginning_in(latest, at_s, last_s), choices.to_s, limit_s)


def _listened(take: Conditioned, choices: TakeChoices, settings: Settings, report: Progress) -> Listened:
    heard = hear_take(take, choices, settings, report)
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
