"""What is doubtful about the rhythm of a take, in words."""

from __future__ import annotations

from collections.abc import Sequence

from transcribe.notes.note import Doubt, Note
from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.quantize import write_moments
from transcribe.rhythm.rhythm import Rhythm, RhythmReading
from transcribe.rhythm.tempo import FEWEST_MOMENTS
from transcribe.settings import RhythmSettings

SAME_TEMPO = 0.05  # share within which two tempos are one
ANOTHER = "another"  # tempo, in no simple ratio
FACTORS = (
    (0.5, "half"),
    (2.0, "double"),
    (2 / 3, "two thirds"),
    (1.5, "one and a half times"),
    (4 / 3, "four thirds"),
    (0.75, "three quarters"),
    (1 / 3, "a third"),
    (3.0, "three times"),
)


def rhythm_doubts(notes: Sequence[Note], rhythm: Rhythm, settings: RhythmSettings | None = None) -> tuple[Doubt, ...]:
    """Return what is doubtful about tempo, metre, bars and written places: about the take first, then note by note.

    The readings kept in ``rhythm`` tell how likely something else is; what was told about a take is not among what
    they differ in, and so not doubted.
    """
    settings = settings or RhythmSettings()
    written = write_moments(notes, rhythm, settings)
    if not written:
        return ()
    doubts = []
    if rhythm.tempo_source == "estimated" and len(written) < FEWEST_MOMENTS:
        doubts.append(Doubt(f"too few notes to tell a tempo; {rhythm.tempo_bpm:.0f} bpm is assumed: give the tempo"))
    doubts += [Doubt(why) for why in _reading_doubts(rhythm, settings)]
    for item in written:
        if abs(item.stray_s) > settings.stray_s:
            when = "after" if item.stray_s > 0 else "before"
            played = f"played {abs(item.stray_s) * 1000:.0f} ms {when} the place it is written in"
            doubts.append(Doubt(f"{played}; its rhythm may differ", item.moment.ids[0], about="rhythm"))
    return tuple(doubts)


def _reading_doubts(rhythm: Rhythm, settings: RhythmSettings) -> list[str]:
    """Other tempos, metres and first bars that are likely enough, each with all readings that share it."""
    shares: dict[str, float] = {}
    words: dict[str, str] = {}
    for reading in rhythm.readings:
        for what, why in _differences(rhythm, reading):
            shares[what] = shares.get(what, 0.0) + reading.likely
            words.setdefault(what, why)
    tempos = {name for _, name in FACTORS} | {ANOTHER}
    limit = {what: settings.tempo_doubt_share if what in tempos else settings.doubt_share for what in shares}
    likely = [what for what, share in shares.items() if share >= limit[what]]
    told = [words[what] for what in likely]
    beat_bpm = rhythm.tempo_bpm / float(pulse_beats(rhythm.meter))
    if rhythm.tempo_source == "estimated" and beat_bpm > settings.brisk_bpm and "half" not in likely:
        half = f"{beat_bpm / 2:.0f} with every value written half as long"
        told.append(f"{beat_bpm:.0f} beats a minute are a fast count: it could be {half}")
    return told


def _differences(rhythm: Rhythm, reading: RhythmReading) -> list[tuple[str, str]]:
    """What a reading has otherwise, as a name of it and the words: its tempo, or else its metre, or else its bar 1."""
    ratio = reading.tempo_bpm / rhythm.tempo_bpm
    if abs(ratio - 1) > SAME_TEMPO:
        near = [(factor, name) for factor, name in FACTORS if abs(ratio / factor - 1) < SAME_TEMPO]
        what = near[0][1] if near else ANOTHER
        return [
            (what, f"the tempo could be {what}: {reading.tempo_bpm:.0f} bpm in {reading.meter} fits nearly as well")
        ]
    if reading.meter != rhythm.meter:
        return [(str(reading.meter), f"the meter could be {reading.meter}")]
    beats = (reading.first_downbeat_s - rhythm.first_downbeat_s) / rhythm.beat_s / float(pulse_beats(rhythm.meter))
    halves = round(2 * beats)
    if halves == 0:
        return []
    whole, half = divmod(abs(halves), 2)
    size = "half a beat" if not whole else f"{whole}{'½' if half else ''} beat{'s' if whole > 1 or half else ''}"
    return [(f"bar {halves}", f"bar 1 could begin {size} {'later' if halves > 0 else 'earlier'}")]
