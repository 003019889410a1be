"""What is doubtful about the rhythm of a take, in words."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from transcribe.notes.note import Doubt, Note
from transcribe.rhythm.bars import bar_lines
from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.onsets import Moment
from transcribe.rhythm.quantize import write_moments
from transcribe.rhythm.rhythm import Meter, Rhythm
from transcribe.rhythm.tempo import FEWEST_MOMENTS, tempo_readings
from transcribe.settings import RhythmSettings

SAME_TEMPO = 0.04  # share within which two tempos are one
FACTORS = ((0.5, "half"), (2.0, "double"), (2 / 3, "two thirds"), (1.5, "one and a half times"))


def rhythm_doubts(
    notes: Sequence[Note], rhythm: Rhythm, settings: RhythmSettings | None = None, *, bars_given: bool = False
) -> tuple[Doubt, ...]:
    """Return what is doubtful about tempo, bars and written places: about the take first, then note by note.

    A tempo that was given is not doubted, nor are bar lines with ``bars_given``.
    """
    settings = settings or RhythmSettings()
    written = write_moments(notes, rhythm, settings)
    if not written:
        return ()
    heard = [item.moment for item in written]
    doubts = _tempo_doubts(heard, rhythm, settings) if rhythm.tempo_source == "estimated" else []
    if not bars_given and len(heard) >= FEWEST_MOMENTS:
        doubts += _bar_doubts(heard, [item.start for item in written], rhythm.meter, settings)
    for item in written:
        if abs(item.stray_s) > settings.stray_s:
            when = "after" if item.stray_s > 0 else "before"
            played = f"played {abs(item.stray_s) * 1000:.0f} ms {when} the place it is written in"
            doubts.append(Doubt(f"{played}; its rhythm may differ", item.moment.ids[0]))
    return tuple(doubts)


def _tempo_doubts(heard: Sequence[Moment], rhythm: Rhythm, settings: RhythmSettings) -> list[Doubt]:
    if len(heard) < FEWEST_MOMENTS:
        return [Doubt(f"too few notes to tell a tempo; {rhythm.tempo_bpm:.0f} bpm is assumed: give the tempo")]
    readings = tempo_readings(heard, settings, meter=rhythm.meter)
    near = [reading for reading in readings if reading.cost - readings[0].cost <= settings.doubt_nats]
    doubts = []
    for factor, name in FACTORS:
        like = [reading for reading in near if abs(reading.tempo_bpm / (rhythm.tempo_bpm * factor) - 1) < SAME_TEMPO]
        if like:
            doubts.append(Doubt(f"the tempo could be {name}: {like[0].tempo_bpm:.0f} bpm fits nearly as well"))
    return doubts


def _bar_doubts(
    heard: Sequence[Moment], places: Sequence[Fraction], meter: Meter, settings: RhythmSettings
) -> list[Doubt]:
    (first, cost), *others = bar_lines(heard, places, meter)
    if first != 0 or not others or others[0][1] - cost > settings.doubt_bar_nats:
        return []
    beats = (others[0][0] - first) / pulse_beats(meter)
    count, when = abs(beats), "later" if beats > 0 else "earlier"
    return [Doubt(f"bar 1 could begin {count} beat{'s' if count != 1 else ''} {when}")]
