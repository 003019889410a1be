"""Recording and evidence to notes: the order in which this room works."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.evidence.evidence import Evidence
from transcribe.notes.agreed_picks import with_picks_agreed
from transcribe.notes.attack import envelope, find_strikes
from transcribe.notes.confidence_weights import ATTACK_OF_A_LINE
from transcribe.notes.doubts import doubts_about, doubts_about_take
from transcribe.notes.echoes import delay_s, without_echoes
from transcribe.notes.endings import without_leftovers
from transcribe.notes.fine import fine_lines, tuning_of
from transcribe.notes.gestures import read_parts
from transcribe.notes.lines import Stretch, draw_lines
from transcribe.notes.moves import Line
from transcribe.notes.mutes import harmonic_of, is_knock
from transcribe.notes.naming import Sounded, dead_notes, named_notes
from transcribe.notes.note import Doubt, Note
from transcribe.notes.octave import put_octaves_right
from transcribe.notes.starts import faint_strands, mend_leaps, share_strikes
from transcribe.notes.touch import harmonic_likelihood
from transcribe.notes.touch_of_line import with_hands_told
from transcribe.notes.track import find_strands
from transcribe.notes.weigh import Grounds, Voices
from transcribe.settings import NoteSettings, Settings
from transcribe.units import CONCERT_A_HZ


@dataclass(frozen=True, slots=True)
class Heard:
    """The notes of a take, how far the guitar stands from the reference, and what is unsure."""

    notes: tuple[Note, ...]  # named n1, n2 ... in time order
    tuning_offset_cents: float  # above zero when the guitar is sharp; removed from every cents of the notes
    doubts: tuple[Doubt, ...]
    grounds: Mapping[str, Mapping[str, float]] = field(default_factory=dict)  # by note: what speaks for it
    tuning_error_cents: float = math.inf  # standard error of the tuning; infinite where no steady pitch told it


def hear_notes(
    recording: Recording,
    evidence: Evidence,
    settings: Settings,
    *,
    reference_hz: float = CONCERT_A_HZ,
    second: Voices | None = None,
) -> Heard:
    """Return the notes heard in a take, with gestures, confidences and doubts.

    Parameters
    ----------
    recording : Recording
        For attacks, fine pitch, and the shape of fast moves.
    evidence : Evidence
        Salience and onset maps, whoever drew them; ``settings.notes.max_voices`` strings are followed at once.
    settings : Settings
        Those of the evidence room rule the fine pitch, those of this room all else.
    reference_hz : float
        Pitch of A above middle C; note numbers and cents count from it.
    second : Voices, optional
        What the several-voices network hears in the take: where the two agree, a note is surer.
    """
    rules = settings.notes
    loudness = envelope(recording)
    strikes = without_echoes(find_strikes(loudness, evidence, rules), delay_s(recording, rules), loudness, rules)
    strikes = with_picks_agreed(strikes, second, rules)
    strands = put_octaves_right(find_strands(evidence, rules), recording, evidence, rules)
    struck = share_strikes(mend_leaps(strands, strikes, evidence, rules), strikes, evidence, rules)
    struck = faint_strands(struck, strikes, evidence, rules)
    stretches = without_leftovers(draw_lines(struck, strikes, loudness, evidence, rules), loudness, rules)
    lines = fine_lines(recording, stretches, settings)
    tuning = tuning_of(lines, settings, reference_hz=reference_hz)
    offset = 12.0 * np.log2(reference_hz / CONCERT_A_HZ) + tuning.cents / 100.0
    sounded = _sounded(recording, stretches, lines, float(offset), rules)
    if second is not None:
        sounded = with_hands_told(sounded, second.touch, loudness, offset_semitones=float(offset))
    weighed = named_notes(sounded, recording, loudness, offset_semitones=float(offset), settings=rules, second=second)
    weighed, bells = _with_harmonics(weighed, second, float(offset))
    weighed = tuple(pair for pair in weighed if (pair[0].confidence or 0.0) >= rules.least_confidence)
    knocks = tuple(strike for strike in strikes if is_knock(strike, loudness, rules))
    notes = dead_notes(knocks, tuple(note for note, _ in weighed), loudness)
    heard_at = {note.onset_s: note.id for note in notes}
    doubts = [
        replace(doubt, note=heard_at[note.onset_s])
        for note, grounds in weighed
        for doubt in doubts_about(
            note, grounds.values(), grounds.odds, rules, attack=ATTACK_OF_A_LINE if second is not None else None
        )
    ]
    doubts += [replace(bell, note=heard_at[at_s]) for at_s, bell in bells.items() if at_s in heard_at]
    told = {heard_at[note.onset_s]: grounds.values() for note, grounds in weighed}
    said = (*doubts_about_take(notes, tuning.error_cents, rules), *doubts)
    return Heard(notes, tuning.cents, said, told, tuning.error_cents)


def _sounded(
    recording: Recording, stretches: tuple[Stretch, ...], lines: tuple[Line, ...], offset: float, settings: NoteSettings
) -> tuple[Sounded, ...]:
    """The notes of every stretch, in the order of the stretches."""
    level = [replace(line, midi=line.midi - offset) for line in lines]
    told: list[Sounded] = []
    for k, stretch in enumerate(stretches):
        parts = read_parts(
            level[k],
            onset_s=stretch.onset_s,
            end_s=stretch.end_s,
            picked=stretch.strike is not None,
            next_midi=_picked_next(stretches, level, k, settings),
            recording=recording,
            offset_semitones=offset,
            settings=settings,
        )
        told += [Sounded(part, stretch, level[k], part is parts[-1]) for part in parts]
    return tuple(told)


def _with_harmonics(
    weighed: tuple[tuple[Note, Grounds], ...], second: Voices | None, offset: float
) -> tuple[tuple[tuple[Note, Grounds], ...], dict[float, Doubt]]:
    """The notes, natural harmonics named where the several-voices network was asked, and doubts by onset."""
    if second is None:
        return weighed, {}
    told, bells = [], {}
    for note, grounds in weighed:
        harmonic, unsure = harmonic_of(harmonic_likelihood(second.touch, note.onset_s, note.midi + offset), note)
        told.append((replace(note, harmonic=harmonic), grounds))
        if unsure is not None:
            bells[note.onset_s] = Doubt(unsure, note.id, about="gesture")
    return tuple(told), bells


def _picked_next(stretches: tuple[Stretch, ...], lines: list[Line], k: int, settings: NoteSettings) -> float | None:
    """Pitch at which the next stretch begins when it is picked without a pause; else None."""
    if k + 1 == len(stretches) or stretches[k + 1].strike is None:
        return None
    if stretches[k + 1].onset_s - stretches[k].end_s > settings.link_gap_s:
        return None
    return float(np.median(lines[k + 1].midi[: max(1, round(0.08 / lines[k + 1].hop_s))]))
