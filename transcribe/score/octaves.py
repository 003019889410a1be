"""Stretches so high that they are written an octave lower under a line with 8va, for nobody counts many ledger lines.

Common practice: the line covers a whole passage rather than single notes, and nothing under it falls below the staff's
middle line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.score.score import Bar, Event, ScoreNote, Spelled

STEPS, STEPS_IN_OCTAVE = "CDEFGAB", 7
TOO_HIGH = 7 * 6 + 6  # B6 as written, in steps from C0: the fifth ledger line
STILL_HIGH = 7 * 6 + 2  # E6, the third: a stretch begins and ends with a note at least this high
LOWEST = 7 * 5 + 6  # B5: an octave lower it stands on the middle line
CLEF_OCTAVE = 1  # the guitar's clef writes notes an octave over their sound


@dataclass(frozen=True, slots=True)
class OctaveStretch:
    """Notes written an octave under what they are, from the first one's start to the last one's."""

    start: tuple[int, Fraction]  # index of the bar, beat in it
    end: tuple[int, Fraction]  # where its last notes start

    def holds(self, bar: int, beat: Fraction) -> bool:
        """Whether notes that start there are written under the line."""
        return self.start <= (bar, beat) <= self.end


@dataclass(frozen=True, slots=True)
class _Moment:
    """What starts together: where, how high as written, and its ties."""

    at: tuple[int, Fraction]
    high: int
    low: int
    tied_from: bool
    tied_to: bool


def octave_stretches(bars: Sequence[Bar]) -> tuple[OctaveStretch, ...]:
    """Return the stretches to be written under 8va, in order; none where no note needs five ledger lines."""
    found: list[OctaveStretch] = []
    run: list[_Moment] = []
    for moment in (*_moments(bars), None):
        if moment is not None and moment.low >= LOWEST:
            run.append(moment)
            continue
        found += _trimmed(run)
        run = []
    return tuple(found)


def _trimmed(run: Sequence[_Moment]) -> list[OctaveStretch]:
    """Return a run of high moments from its first to its last high one, no tie cut; nothing if it needs no line."""
    first, last = 0, len(run) - 1
    while first <= last and (run[first].high < STILL_HIGH or run[first].tied_from):
        first += 1
    while last >= first and (run[last].high < STILL_HIGH or run[last].tied_to):
        last -= 1
    kept = run[first : last + 1]
    needed = any(moment.high >= TOO_HIGH for moment in kept)
    return [OctaveStretch(kept[0].at, kept[-1].at)] if needed else []


def _moments(bars: Sequence[Bar]) -> Iterator[_Moment]:
    """Everything that starts, in order; rests start nothing."""
    for index, bar in enumerate(bars):
        starts: dict[Fraction, list[Event]] = {}
        for voice in bar.voices:
            for event in voice:
                if event.notes:
                    starts.setdefault(event.beat, []).append(event)
        for beat in sorted(starts):
            notes = [note for event in starts[beat] for note in event.notes]
            steps = [written_step(spelled) for note in notes for spelled in _shown(note)]
            tied_from, tied_to = any(note.tied_from for note in notes), any(note.tied_to for note in notes)
            yield _Moment((index, beat), max(steps), min(steps), tied_from, tied_to)


def _shown(note: ScoreNote) -> Iterator[Spelled]:
    """Every pitch that a head shows, small heads too."""
    if note.sounding is None or not note.tied_from:
        yield note.spelled
    if note.sounding is not None:
        yield note.sounding
    for bent in note.bent:
        if bent.spelled is not None:
            yield bent.spelled


def written_step(spelled: Spelled) -> int:
    """Return how high a note is written under the guitar's clef, in steps from C0.

    >>> written_step(Spelled("B", 0, 5)) == TOO_HIGH
    True
    """
    return (spelled.octave + CLEF_OCTAVE) * STEPS_IN_OCTAVE + STEPS.index(spelled.step)
