"""Maps of several voices to notes with gestures: the path for takes in which strings sound together.

Each voice is read by the same rules of bends, slides and vibrato as a single line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.evidence.features import onset_map
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.attack import Envelope, envelope, strikes_in
from transcribe.notes.begins import judged_begins
from transcribe.notes.beside import beside_each
from transcribe.notes.confidence_weights import ATTACK_OF_SEVERAL, SEVERAL
from transcribe.notes.doubts import doubts_about, doubts_about_take
from transcribe.notes.fine import tuning_of
from transcribe.notes.gestures import read_parts
from transcribe.notes.hear import Heard
from transcribe.notes.in_time import Moments
from transcribe.notes.moves import Company, Line
from transcribe.notes.mutes import harmonic_of, is_knock
from transcribe.notes.naming import dead_for, named_anew, new_names
from transcribe.notes.note import Attack, Contour, Doubt, Note, Slide
from transcribe.notes.part import Part
from transcribe.notes.touch import BELL_RINGS, TOGETHER_S, TouchMaps, finger_log_odds, harmonic_likelihood, touch_maps
from transcribe.notes.undertone import is_undertone
from transcribe.notes.voice_legato import could_all_pass_on, how_begun, slid_on, with_slides
from transcribe.notes.voice_lines import company_of, lines_of_voices
from transcribe.notes.voices import Voice, find_voices
from transcribe.notes.weigh_voices import grounds_of_voices
from transcribe.settings import Settings
from transcribe.units import CONCERT_A_HZ, hz_from_midi

# Share of the sounding time with two voices or more. Takes of one line (our own fixtures, notes ringing into each
# other) lie at .32 and below; made chords, double stops and oblique bends mostly above .6.
TOGETHER_SHARE = 0.45
BEGUN_FRAMES = 5  # of a voice tell the pitch it begins at
LEFT_SEMITONES = 0.75  # from it, its pitch is left
CUT_S = 0.04  # a stroke this near the end of a note of its pitch cut it short
CUT = "it sounds from the start of the take: its beginning was cut"


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
    voices = find_voices(maps, begins=judged_begins(recording, maps, settings.notes))
    beside = beside_each(voices)
    lines = lines_of_voices(recording, maps, voices, beside, settings)
    tuning = tuning_of(lines, settings, reference_hz=reference_hz)
    offset = float(12.0 * np.log2(reference_hz / CONCERT_A_HZ) + tuning.cents / 100.0)
    loudness = envelope(recording)
    level = [replace(line, midi=line.midi - offset) for line in lines]
    told: list[Note] = []
    doubts: list[Doubt] = []
    grounds = grounds_of_voices(recording, maps, voices, loudness)
    values: dict[str, dict[str, float]] = {}
    touch = touch_maps(maps)
    fingers = _fingers(touch, voices, loudness)
    begun = how_begun(voices, level, fingers)
    spans: list[tuple[int, int]] = []  # each voice's first and last note
    for k, voice in enumerate(voices):
        attack = begun[k].attack
        spans.append((len(told), len(told)))
        lesser: list[Doubt] = []
        parts = _parts(level[k], voice.onset_s, attack, company_of(voice, beside[k]), recording, offset, settings)
        for n, part in enumerate(parts):
            weighed = replace(grounds[k], inside=float(n > 0)).values() | {"finger": fingers[k]}
            weighed["gestures"] = part.sure if part.bends or part.slide is not None else 1.0
            note = _note(f"v{len(told)}", part, attack if n == 0 else part.attack, voice, level[k], loudness)
            likely = harmonic_likelihood(touch, note.onset_s, note.midi + offset) if n == 0 else 0.0
            if note.mute == "palm" and likely >= BELL_RINGS:
                note = replace(note, mute="none")
            harmonic, unsure = harmonic_of(likely, note)
            under = n == 0 and is_undertone(
                recording, note.onset_s, float(hz_from_midi(note.midi + offset)), grounds[k]
            )
            told.append(replace(note, confidence=0.0 if under else round(SEVERAL.of(weighed), 3), harmonic=harmonic))
            values[note.id] = weighed
            cut = (Doubt(CUT, note.id, about="attack"),) if n == 0 and voice.begin == "unknown" else ()
            bell = (Doubt(unsure, note.id, about="gesture"),) if unsure is not None else ()
            lesser += [*cut, *bell]
        first = spans[k][0]
        spans[k] = (first, len(told) - 1)
        told[first:] = [*map(slid_on, told[first:-1], told[first + 1 :]), told[-1]]
        for n, note in enumerate(told[first:]):
            attacked = ATTACK_OF_SEVERAL if n == 0 else None
            doubts += doubts_about(note, values[note.id], SEVERAL, settings.notes, attack=attacked)
        doubts += lesser
    kept = believed(with_slides(told, begun, spans), settings.notes.least_confidence_of_several)
    kept = (*kept, *_dead(recording, kept, loudness, settings))
    names = new_names(kept)
    notes = named_anew(kept)
    of_notes = [replace(doubt, note=names[doubt.note]) for doubt in doubts if doubt.note in names]
    said = (*doubts_about_take(notes, tuning.error_cents, settings.notes), *of_notes)
    told_by = {names[old]: grounds for old, grounds in values.items() if old in names}
    return Heard(notes, tuning.cents, said, told_by, tuning.error_cents)


def believed(notes: Sequence[Note], least: float) -> tuple[Note, ...]:
    """Return the notes of at least this confidence; one that was cut short by a stroke not believed sounds on."""
    kept: list[Note] = []
    for note in sorted(notes, key=lambda note: note.onset_s):
        if (note.confidence or 0.0) >= least:
            kept.append(note)
            continue
        for k in range(len(kept) - 1, -1, -1):
            before = kept[k]
            if before.midi == note.midi and abs(before.offset_s - note.onset_s) <= CUT_S and not _goes_on(before):
                kept[k] = replace(before, offset_s=max(before.offset_s, note.offset_s))
                break
    return tuple(kept)


def _goes_on(note: Note) -> bool:
    return note.slide is not None and note.slide.to is not None


def _dead(recording: Recording, notes: tuple[Note, ...], loudness: Envelope, settings: Settings) -> tuple[Note, ...]:
    """Dead notes: strikes without a pitch, which the maps of pitches do not show."""
    hop_s = settings.evidence.hop_s
    onset = onset_map(recording, settings.evidence, hop_s=hop_s).max(axis=1)
    strikes = strikes_in(onset, loudness, recording.start_s, hop_s, settings.notes)
    knocks = tuple(strike for strike in strikes if is_knock(strike, loudness, settings.notes))
    return dead_for(knocks, notes, loudness)


def _fingers(touch: TouchMaps, voices: tuple[Voice, ...], loudness: Envelope) -> list[float]:
    """How likely the fretting hand alone began each voice.

    Strings that begin at one moment are picked together, or all hammered or pulled off together where fingers could do
    that: they share what is told of each.
    """
    onsets = Moments(voice.onset_s for voice in voices)
    beside = [onsets.within(TOGETHER_S, voice.onset_s) for voice in voices]
    odds = [
        finger_log_odds(touch, loudness, each.onset_s, float(np.median(each.midi[:3])), together=len(beside[k]) > 1)
        for k, each in enumerate(voices)
    ]
    ends = Moments(voice.last * touch.hop_s for voice in voices)
    passed = {group: could_all_pass_on([voices[n] for n in group], voices, ends, touch.hop_s) for group in set(beside)}
    shared = [float(np.mean([odds[n] for n in group])) if passed[group] else odds[k] for k, group in enumerate(beside)]
    return [1.0 / (1.0 + math.exp(-each)) for each in shared]


def _parts(
    line: Line,
    onset_s: float,
    attack: Attack,
    company: Company,
    recording: Recording,
    offset: float,
    settings: Settings,
) -> tuple[Part, ...]:
    onset_s = min(max(0.0, onset_s), line.start_s + 2 * line.hop_s)
    found = read_parts(
        line,
        onset_s=onset_s,
        end_s=max(line.end_s + line.hop_s, onset_s + line.hop_s),
        picked=attack == "picked",
        next_midi=None,
        recording=recording,
        offset_semitones=offset,
        settings=settings.notes,
        company=company,
    )
    # The maps have told every attack already: a jump inside a voice is the pitch of another string, a slide may be new.
    kept = [found[0]]
    for part in found[1:]:
        if part.attack == "slide":
            kept.append(part)
        else:
            kept[-1] = replace(kept[-1], end_s=part.end_s)
    return (_as_begun(kept[0], line), *kept[1:])


def _as_begun(part: Part, line: Line) -> Part:
    """The part, kept to the pitch it begins at: what leaves that without bend or slide is another string ringing on."""
    begun = float(np.median(line.midi[:BEGUN_FRAMES]))
    if part.bends or part.slide is not None or abs(part.midi - begun) < LEFT_SEMITONES:
        return part
    left = np.flatnonzero(np.abs(line.midi - begun) >= LEFT_SEMITONES)
    end_s = max(part.onset_s + line.hop_s, float(line.times_s[left[0]])) if left.size else part.end_s
    return replace(part, midi=round(begun), rest_cents=100.0 * (begun - round(begun)), end_s=min(end_s, part.end_s))


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
