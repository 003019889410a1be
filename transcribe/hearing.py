"""A take to the notes heard in it: one hearing, or the two of a single line told as one, and doubts."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

from fingering.fretboard import Fretboard
from transcribe.audio.condition import Conditioned
from transcribe.choices import TakeChoices
from transcribe.evidence.crepe import crepe_evidence
from transcribe.evidence.network import voice_maps
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.measured import measure_ahead
from transcribe.notes.hear import Heard, hear_notes
from transcribe.notes.hear_voices import hear_voices, sounds_together
from transcribe.notes.note import Note
from transcribe.notes.strange_take import with_strange_told
from transcribe.notes.surer import better
from transcribe.notes.voices import find_voices
from transcribe.notes.weigh import Voices, heard_voices
from transcribe.settings import Settings

Progress = Callable[[str, float], None]  # stage in words, share of the take done (0 to 1)

# Where the stages end, as shares of the time a ten-second take needs on two cores.
READ_SHARE, VOICES_SHARE, NETWORK_SHARE, HEARD_SHARE = 0.1, 0.3, 0.6, 0.9


def hear_take(take: Conditioned, choices: TakeChoices, settings: Settings, report: Progress) -> Heard:
    """Return the notes of a take as one line, as several voices, or as whichever it turns out to be, and doubts."""
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
