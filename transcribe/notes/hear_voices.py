"""Maps of several voices to notes with gestures: the path for takes in which strings sound together.

Each voice is read by the same rules of bends, slides and vibrato as a single line. Where a voice sounds alone its
pitch comes from its partials; where others sound too, from the map, moved by what its partials said nearby.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.evidence.refine import refine_pitch
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.attack import Envelope, envelope
from transcribe.notes.begins import judged_begins
from transcribe.notes.confidence_weights import ATTACK_OF_SEVERAL, SEVERAL
from transcribe.notes.doubts import doubts_about, doubts_about_take
from transcribe.notes.fine import tuning_of
from transcribe.notes.gestures import read_parts
from transcribe.notes.hear import Heard
from transcribe.notes.moves import Line
from transcribe.notes.naming import named_anew, new_names
from transcribe.notes.note import Attack, Contour, Doubt, Note, Slide
from transcribe.notes.part import Part
from transcribe.notes.voice_legato import how_begun, with_slides
from transcribe.notes.voices import Voice, find_voices
from transcribe.notes.weigh_voices import grounds_of_voices
from transcribe.settings import Settings
from transcribe.units import CONCERT_A_HZ

# Share of the sounding time with two voices or more. Takes of one line (our own fixtures, notes ringing into each
# other) lie at .32 and below; made chords, double stops and oblique bends mostly above .6.
TOGETHER_SHARE = 0.45
MARGIN_S = 0.3  # of sound around a voice whose pitch is read
FARTHEST = 0.3  # semitones the map's pitch is moved at most
CUT = "it sounds from the start of the take: its beginning was cut"


@dataclass(frozen=True, slots=True, eq=False)
class _Read:
    """One voice and what was read from it."""

    voice: Voice
    line: Line


def sounds_together(voices: tuple[Voice, ...]) -> bool:
    """Return whether a take is more than a single line: two voices or more for much of its sounding time."""
    if not voices:
        return False
    count = np.zeros(max(voice.last for voice in voices) + 1, dtype=int)
    for voice in voices:
        count[voice.first : voice.last + 1] += 1
    return bool((count > 1).sum() > TOGETHER_SHARE * (count > 0).sum())


def hear_voices(
    recording: Recording, maps: VoiceMaps, settings: Settings, *, reference_hz: float = CONCERT_A_HZ
) -> Heard:
    """Return the notes of several voices, with gestures, confidences and doubts; see ``hear_notes``."""
    voices = find_voices(maps, begins=judged_begins(recording, maps))
    lines = _lines(recording, maps, voices, settings)
    tuning = tuning_of(lines, settings, reference_hz=reference_hz)
    offset = float(12.0 * np.log2(reference_hz / CONCERT_A_HZ) + tuning.cents / 100.0)
    loudness = envelope(recording)
    level = [replace(line, midi=line.midi - offset) for line in lines]
    told: list[Note] = []
    doubts: list[Doubt] = []
    grounds = grounds_of_voices(recording, maps, voices, loudness)
    values: dict[str, dict[str, float]] = {}
    begun = how_begun(voices, level)
    spans: list[tuple[int, int]] = []  # each voice's first and last note
    for k, voice in enumerate(voices):
        attack = begun[k].attack
        spans.append((len(told), len(told)))
        parts = _parts(voice, level[k], attack, recording, offset, settings)
        for n, part in enumerate(parts):
            weighed = replace(grounds[k], inside=float(n > 0)).values()
            note = _note(f"v{len(told)}", part, attack if n == 0 else part.attack, voice, level[k], loudness)
            told.append(replace(note, confidence=round(SEVERAL.of(weighed), 3)))
            values[note.id] = weighed
            about = doubts_about(note, weighed, SEVERAL, settings.notes, attack=ATTACK_OF_SEVERAL if n == 0 else None)
            cut = (Doubt(CUT, note.id, about="attack"),) if n == 0 and voice.begin == "unknown" else ()
            doubts += [*about, *cut]
        spans[k] = (spans[k][0], len(told) - 1)
    kept = tuple(
        note
        for note in with_slides(told, begun, spans)
        if (note.confidence or 0.0) >= settings.notes.least_confidence_of_several
    )
    names = new_names(kept)
    notes = named_anew(kept)
    of_notes = [replace(doubt, note=names[doubt.note]) for doubt in doubts if doubt.note in names]
    said = (*doubts_about_take(notes, tuning.error_cents, settings.notes), *of_notes)
    return Heard(notes, tuning.cents, said, {names[old]: grounds for old, grounds in values.items() if old in names})


def _lines(recording: Recording, maps: VoiceMaps, voices: tuple[Voice, ...], settings: Settings) -> tuple[Line, ...]:
    """The pitch of every voice, read from its partials where it sounds alone."""
    count = np.zeros(maps.n_frames + 1, dtype=int)
    for voice in voices:
        count[max(0, voice.first - 2) : voice.last + 3] += 1
    lines = []
    for voice in voices:
        line = Line(maps.start_s + voice.first * maps.hop_s, maps.hop_s, voice.midi, voice.contour)
        alone = count[voice.first : voice.last + 1] == 1
        if alone.sum() >= 5:
            fine = refine_pitch(_around(recording, line), line.times_s, line.midi, settings.evidence)
            known = np.flatnonzero(np.isfinite(fine) & alone & (np.abs(fine - line.midi) < FARTHEST))
            if known.size >= 2:
                shift = np.interp(np.arange(fine.size), known, (fine - line.midi)[known])
                line = replace(line, midi=line.midi + shift)
        lines.append(line)
    return tuple(lines)


def _around(recording: Recording, line: Line) -> Recording:
    first = max(0, int((line.start_s - MARGIN_S - recording.start_s) * recording.rate_hz))
    last = int((line.end_s + MARGIN_S - recording.start_s) * recording.rate_hz) + 1
    return Recording(recording.samples[first:last], recording.rate_hz, recording.start_s + first / recording.rate_hz)


def _parts(
    voice: Voice, line: Line, attack: Attack, recording: Recording, offset: float, settings: Settings
) -> tuple[Part, ...]:
    onset_s = min(max(0.0, voice.onset_s), line.start_s + 2 * line.hop_s)
    found = read_parts(
        line,
        onset_s=onset_s,
        end_s=max(line.end_s + line.hop_s, onset_s + line.hop_s),
        picked=attack == "picked",
        next_midi=None,
        recording=recording,
        offset_semitones=offset,
        settings=settings.notes,
    )
    # The maps have told every attack already: a jump inside a voice is the pitch of another string, a slide may be new.
    kept = [found[0]]
    for part in found[1:]:
        if part.attack == "slide":
            kept.append(part)
        else:
            kept[-1] = replace(kept[-1], end_s=part.end_s)
    return tuple(kept)


def _note(name: str, part: Part, attack: Attack, voice: Voice, line: Line, loudness: Envelope) -> Note:
    times = line.times_s
    inside = np.flatnonzero((times >= part.onset_s - 1e-9) & (times <= part.end_s + 1e-9))
    contour = None
    if inside.size:
        cents = 100.0 * (line.midi[inside] - part.midi)
        told = tuple(round(float(c), 1) for c in cents)
        contour = Contour(round(float(times[inside[0]]), 4), line.hop_s, told)
    level = float(loudness.span(loudness.all_db, part.onset_s, min(part.end_s, part.onset_s + 0.1)).max())
    slide = None
    if part.slide is not None and part.slide[0] in ("in", "out"):
        slide = Slide(part.slide[0], round(part.slide[1], 0))
    return Note(
        id=name,
        onset_s=max(0.0, part.onset_s),
        offset_s=max(part.end_s, part.onset_s + 0.01),
        midi=int(np.clip(part.midi, 0, 127)),
        cents=round(part.rest_cents, 1),
        level_db=round(level, 1),
        attack=attack,
        bends=part.bends,
        slide=slide,
        vibrato=part.vibrato,
        mute="palm" if voice.palm > 0.5 and attack == "picked" else "none",
        contour=contour,
    )
