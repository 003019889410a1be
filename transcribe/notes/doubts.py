"""What the tool is unsure of, in words a player uses: where to look and listen first."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.notes.doubt_words import likeliest_reason
from transcribe.notes.intonation import nearest_size_cents, size_name
from transcribe.notes.note import Bend, Doubt, Note
from transcribe.notes.odds import Odds
from transcribe.settings import NoteSettings
from transcribe.units import CONCERT_A_HZ

NOTE, ATTACK, GESTURE = "note", "attack", "gesture"  # what a doubt is about
NO_NOTE = "no note was heard"
NO_TUNING = "too few steady notes to tell how the guitar is tuned: sharp and flat are told against the reference"


def doubts_about(
    note: Note, grounds: Mapping[str, float], odds: Odds, settings: NoteSettings, *, attack: Odds | None = None
) -> tuple[Doubt, ...]:
    """Return the doubts about one note, the gravest first: is it there at all, how was it begun, what did it do.

    ``odds`` weigh the note, ``attack`` whether it was picked or begun by the fretting hand.
    """
    found: list[tuple[str, str]] = []
    if odds.of(grounds) < odds.doubted_below:
        found.append((NOTE, likeliest_reason(grounds, odds)))
    elif attack is not None and note.attack != "unknown" and attack.of(grounds) < attack.doubted_below:
        other = "hammer-on, pull-off or slide" if note.attack == "picked" else "picked"
        found.append((ATTACK, f"{note.attack} or {other}: not plain"))
    if (note.bends or note.slide is not None) and grounds.get("gestures", 1.0) < settings.gesture_doubted:
        found.append((GESTURE, "bend or slide: the move between the pitches was too quick or too noisy to tell"))
    found += [(GESTURE, why) for bend in note.bends if (why := between_targets(bend, settings)) is not None]
    return tuple(Doubt(why, note.id, about=about) for about, why in dict.fromkeys(found))


def between_targets(bend: Bend, settings: NoteSettings) -> str | None:
    """Return the doubt about a bend that stopped far from its target, or nearly as near to another; else None.

    >>> from transcribe.settings import NoteSettings
    >>> between_targets(Bend("bend", 0.0, 0.1, 0.5, 200.0, 152.0), NoteSettings())
    'stopped at 152 cents: a half-step bend too high, or a whole-step bend too low?'
    """
    if bend.kind == "release":
        return None
    reached = bend.reached_cents
    near = nearest_size_cents(reached)
    step = 50.0 if near == 50.0 and reached < near else 100.0
    other = near + step if reached > near else near - step
    if near == 50.0:
        other = 100.0 if reached > 50.0 else 0.0
    elif near == 100.0 and reached < near:
        other = 50.0
    if other <= 0 or abs(reached - other) - abs(reached - near) > settings.between_targets_cents:
        return None
    low, high = sorted((near, other))
    return f"stopped at {reached:.0f} cents: a {size_name(low)} too high, or a {size_name(high)} too low?"


def doubts_about_take(notes: tuple[Note, ...], tuning_error_cents: float, settings: NoteSettings) -> tuple[Doubt, ...]:
    """Return the doubts about the take as a whole."""
    said = []
    sure = [note.confidence for note in notes if note.confidence is not None]
    if len(sure) >= settings.take_doubted_least_notes and sum(sure) / len(sure) < settings.take_doubted:
        said.append("much of this is unsure: strings that ring together, talk or a backing track mislead")
    if not notes:
        said.append(NO_NOTE)
    elif tuning_error_cents > settings.tuning_doubted_cents:
        said.append(NO_TUNING)
    return tuple(Doubt(text) for text in said)


def second_opinion_doubts(
    recording: Recording,
    notes: tuple[Note, ...],
    tuning_offset_cents: float,
    *,
    reference_hz: float = CONCERT_A_HZ,
) -> tuple[Doubt, ...]:
    """Return a doubt for each note whose pitch a second tracker, which shares nothing with the first, hears elsewhere.

    Note numbers count from ``reference_hz``, the tuning offset too. Slow: see ``transcribe.evidence.second_opinion``.
    """
    from transcribe.evidence.second_opinion import pyin_contour

    tuning = 12.0 * float(np.log2(reference_hz / CONCERT_A_HZ)) + tuning_offset_cents / 100.0

    other = pyin_contour(recording)
    doubts = []
    for note in notes:
        inside = (other.times_s > note.onset_s + 0.03) & (other.times_s < note.offset_s) & (other.voiced > 0.5)
        heard = other.midi[inside & np.isfinite(other.midi)]
        known = [cents for cents in note.contour.cents if cents is not None] if note.contour is not None else []
        if heard.size < 3 or not known or note.mute == "dead":
            continue
        own = note.midi + float(np.median(known)) / 100.0 + tuning
        apart = round(float(np.median(heard)) - own)
        if apart:
            doubts.append(Doubt(f"a second tracker hears this {_interval(apart)}", note.id, about=NOTE))
    return tuple(doubts)


def _interval(semitones: int) -> str:
    side = "higher" if semitones > 0 else "lower"
    if semitones % 12 == 0:
        octaves = abs(semitones) // 12
        return f"an octave {side}" if octaves == 1 else f"{octaves} octaves {side}"
    return f"{abs(semitones)} semitone{'s' if abs(semitones) > 1 else ''} {side}"
