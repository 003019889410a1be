"""Parts of stretches to notes with names, contours, mutes and confidences."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.notes.attack import Envelope, Strike
from transcribe.notes.lines import Stretch
from transcribe.notes.moves import Line
from transcribe.notes.mutes import Decay, measure_decay, mute_of
from transcribe.notes.note import Contour, Mute, Note, Slide
from transcribe.notes.octave import lower_evidence
from transcribe.notes.part import Part
from transcribe.notes.touch import palm_likelihood
from transcribe.notes.weigh import LONGEST_S, Grounds, Second, Voices, confidence_of, second_hearing
from transcribe.settings import NoteSettings

LOOK_BACK = 24  # notes: those of the last second, and what may still ring
DEAD = "dead"  # id of a dead note until it is named


@dataclass(frozen=True, slots=True, eq=False)
class Sounded:
    """A part and where it was found."""

    part: Part
    stretch: Stretch
    line: Line  # fine pitch, tuning offset removed
    is_last: bool  # of its stretch


def named_notes(
    sounded: tuple[Sounded, ...],
    recording: Recording,
    loudness: Envelope,
    *,
    offset_semitones: float,
    settings: NoteSettings,
    second: Voices | None = None,
) -> tuple[tuple[Note, Grounds], ...]:
    """Return the notes n1, n2 ... in time order, each with what speaks for it, ``second`` a second hearing of all."""
    order = sorted(range(len(sounded)), key=lambda k: (sounded[k].part.onset_s, sounded[k].part.midi))
    place = {k: n for n, k in enumerate(order)}
    decays = [measure_decay(loudness, each.part.onset_s, each.part.end_s) for each in sounded]
    usual_dull_db = float(np.percentile([decay.dull_db for decay in decays], 75)) if decays else 0.0
    loudest = max((_level_db(loudness, each.part) for each in sounded), default=0.0)
    told = []
    for n, k in enumerate(order):
        each = sounded[k]
        grounds = _grounds(each, recording, loudness, loudest, offset_semitones)
        grounds = _among(grounds, each.part, [sounded[j].part for j in order[max(0, n - LOOK_BACK) : n]], loudness)
        grounds = replace(grounds, second=_second(each, offset_semitones, second))
        to = f"n{place[k + 1] + 1}" if k + 1 < len(sounded) else None
        note = Note(
            id=f"n{n + 1}",
            onset_s=max(0.0, each.part.onset_s),
            offset_s=max(each.part.end_s, each.part.onset_s + 0.01),
            midi=int(np.clip(each.part.midi, 0, 127)),
            cents=round(each.part.rest_cents, 1),
            level_db=round(_level_db(loudness, each.part), 1),
            confidence=round(confidence_of(grounds), 3),
            attack=each.part.attack,
            bends=each.part.bends,
            slide=_slide(each, sounded[k + 1].part if k + 1 < len(sounded) else None, to),
            vibrato=each.part.vibrato,
            mute=_mute(each, decays[k], usual_dull_db, grounds, settings, _palm(each.part, offset_semitones, second)),
            contour=_contour(each),
        )
        told.append((note, grounds))
    return tuple(told)


def dead_notes(knocks: tuple[Strike, ...], notes: tuple[Note, ...], loudness: Envelope) -> tuple[Note, ...]:
    """Return the notes with dead notes for knocks that no note explains, named anew in time order."""
    return named_anew((*notes, *dead_for(knocks, notes, loudness)))


def dead_for(knocks: tuple[Strike, ...], notes: tuple[Note, ...], loudness: Envelope) -> tuple[Note, ...]:
    """Return dead notes, as yet without names, for knocks that no note explains.

    A dead note has no pitch of its own: it is written where the hand was, at the note before it or else after it.
    """
    made = []
    for knock in knocks:
        near = min(notes, key=lambda note: abs(note.onset_s - knock.time_s), default=None)
        before = [note for note in notes if note.onset_s < knock.time_s]
        hand = before[-1] if before else near
        if hand is None or near is None or abs(near.onset_s - knock.time_s) < 0.08:
            continue
        level = float(loudness.span(loudness.all_db, knock.time_s, knock.time_s + 0.03).max())
        made.append(
            Note(DEAD, knock.time_s, knock.time_s + 0.05, hand.midi, None, round(level, 1), 0.5, "picked", mute="dead")
        )
    return tuple(made)


def new_names(notes: tuple[Note, ...]) -> dict[str, str]:
    """Return n1, n2 ... in time order by the names notes have now; a dead note has none yet."""
    return {note.id: f"n{n + 1}" for n, note in enumerate(_in_order(notes)) if note.id != DEAD}


def _in_order(notes: tuple[Note, ...]) -> list[Note]:
    return sorted(notes, key=lambda note: (note.onset_s, note.midi))


def named_anew(notes: tuple[Note, ...]) -> tuple[Note, ...]:
    """Return the notes in time order, named n1, n2 ...; a slide to a note that is not among them is forgotten."""
    every, names, told = _in_order(notes), new_names(notes), []
    for n, note in enumerate(every):
        slide = note.slide
        if slide is not None and slide.to is not None:
            slide = replace(slide, to=names[slide.to]) if slide.to in names else None
        told.append(replace(note, id=f"n{n + 1}", slide=slide))
    return tuple(told)


def _level_db(loudness: Envelope, part: Part) -> float:
    return float(loudness.span(loudness.all_db, part.onset_s, min(part.end_s, part.onset_s + 0.1)).max())


def _slide(each: Sounded, following: Part | None, to: str | None) -> Slide | None:
    if each.part.slide is None:
        return None
    kind, cents = each.part.slide
    if kind in ("legato", "shift"):
        if following is None or to is None or following.midi == each.part.midi:
            return None
        return Slide(kind, 100.0 * (following.midi - each.part.midi), to)
    return Slide(kind, round(cents, 0))


def _palm(part: Part, offset_semitones: float, second: Voices | None) -> float | None:
    return None if second is None else palm_likelihood(second.touch, part.onset_s, part.midi + offset_semitones)


def _mute(
    each: Sounded, decay: Decay, usual_dull_db: float, grounds: Grounds, settings: NoteSettings, palm: float | None
) -> Mute:
    return mute_of(
        decay,
        usual_dull_db=usual_dull_db,
        salience=grounds.salience,
        picked=each.part.attack == "picked",
        settings=settings,
        palm=palm,
    )


def _contour(each: Sounded) -> Contour | None:
    times = each.line.times_s
    inside = np.flatnonzero((times >= each.part.onset_s - 1e-9) & (times <= each.part.end_s + 1e-9))
    if inside.size == 0:
        return None
    cents = 100.0 * (each.line.midi[inside] - each.part.midi)
    return Contour(round(float(times[inside[0]]), 4), each.line.hop_s, tuple(round(float(c), 1) for c in cents))


def _grounds(
    each: Sounded, recording: Recording, loudness: Envelope, loudest_db: float, offset_semitones: float
) -> Grounds:
    part, line = each.part, each.line
    times = line.times_s
    inside = (times >= part.onset_s - 1e-9) & (times <= part.end_s + 1e-9)
    if not inside.any():
        inside = np.abs(times - part.onset_s) <= np.abs(times - part.onset_s).min()
    midi, salience = line.midi[inside], line.salience[inside]
    strike = part.sure
    if part.attack == "picked":
        strike = each.stretch.strike.pick_likelihood if each.stretch.strike is not None else 0.0
    elif part.attack == "unknown":
        strike = 0.0
    looked = times[inside][: max(1, round(0.25 / line.hop_s))][:: max(1, round(0.06 / line.hop_s))]
    pitch = float(np.median(midi[: max(1, looked.size)])) + offset_semitones
    steps = np.abs(np.diff(midi)) if midi.size > 2 else np.zeros(1)
    return Grounds(
        salience=float(np.median(salience)),
        strike=float(strike),
        length_s=part.end_s - part.onset_s,
        octave=lower_evidence(recording, looked, pitch),
        unsteady_cents=100.0 * float(np.median(steps)),
        gestures=part.sure if (part.bends or part.slide is not None) else 1.0,
        softer_db=loudest_db - _level_db(loudness, part),
        off_cents=abs(part.rest_cents),
        legato=float(part.attack in ("hammer-on", "pull-off", "slide")),
        unknown=float(part.attack == "unknown"),
        midi=float(part.midi),
        finger=part.finger,
    )


def _among(grounds: Grounds, part: Part, earlier: list[Part], loudness: Envelope) -> Grounds:
    """The grounds with what the notes before it say: how long ago the same pitch was, and how much louder."""
    same = [other for other in earlier if other.midi == part.midi and other.onset_s < part.onset_s]
    recent = [other for other in same if part.onset_s - other.onset_s < LONGEST_S]
    own = _level_db(loudness, part)
    return replace(
        grounds,
        since_same_s=min([LONGEST_S, *(part.onset_s - other.onset_s for other in same)]),
        gap_same_s=max(0.0, min([LONGEST_S, *(part.onset_s - other.end_s for other in same)])),
        repeats_db=max([0.0, *(_level_db(loudness, other) - own for other in recent)]),
    )


def _second(each: Sounded, offset_semitones: float, heard: Voices | None) -> Second | None:
    if heard is None:
        return None
    times, part = each.line.times_s, each.part
    inside = (times >= part.onset_s - 1e-9) & (times <= part.end_s + 1e-9)
    if not inside.any():
        inside = np.abs(times - part.onset_s) <= np.abs(times - part.onset_s).min()
    return second_hearing(part.onset_s, times[inside], each.line.midi[inside] + offset_semitones, heard)
