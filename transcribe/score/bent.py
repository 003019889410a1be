"""Where bends arrive, as written pitches: which head of a tied note shows each, and what a head sounds as it begins."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.document.model import Instrument, TakeNote
from transcribe.harmony.key import Key
from transcribe.notes.note import Bend
from transcribe.score.score import BentTo, Spelled
from transcribe.score.spelling import spell
from transcribe.score.touched import touched_fret

SEMITONE_CENTS = 100.0
NEAR_CENTS = 25.0  # a target this near to a semitone is that pitch; others have no name (quarter-tone curls)


@dataclass(frozen=True, slots=True)
class Names:
    """A note's name, and the name of what each of its bends reaches; None where that lies between semitones."""

    fretted: Spelled
    bent: tuple[Spelled | None, ...] = ()
    touched_fret: int | None = None  # of an artificial harmonic


def semitones_of(bend: Bend) -> int | None:
    """Return how many semitones above the fretted pitch a bend aims; None for one that aims between semitones.

    >>> semitones_of(Bend("bend", 0.0, 0.1, 0.5, 200.0, 190.0)), semitones_of(Bend("bend", 0.0, 0.1, 0.5, 50.0, 50.0))
    (2, None)
    """
    semitones = round(bend.target_cents / SEMITONE_CENTS)
    near = abs(bend.target_cents - SEMITONE_CENTS * semitones) <= NEAR_CENTS
    return semitones if near and not (semitones == 0 and bend.kind != "release") else None


def head_bends(
    item: TakeNote, names: Names, head: tuple[Fraction, Fraction], sound: tuple[Fraction, Fraction], beat_s: float
) -> tuple[Spelled | None, tuple[BentTo, ...]]:
    """Return what a head sounds as it begins, None when that is the fretted pitch, and the bends made during it.

    ``head`` and ``sound`` are where the head and its whole note are written, in quarters. A bend belongs to the head
    in which it begins; a pre-bend is made before the note sounds and belongs to none.
    """
    level: Spelled | None = None
    shown: list[BentTo] = []
    for place, (bend, name) in enumerate(zip(item.note.bends, names.bent, strict=False)):
        at = sound[0] + Fraction((bend.start_s - item.note.onset_s) / beat_s).limit_denominator(960)
        at = min(max(at, sound[0]), sound[1] - Fraction(1, 960))
        if at >= head[1]:
            break
        silent = place == 0 and bend.kind == "pre-bend"
        if at >= head[0] and not silent:
            shown.append(BentTo(bend, name))
        elif name is not None:
            level = name
    return (None if level == names.fretted else level), tuple(shown)


def names_of(notes: Sequence[TakeNote], key: Key | None, instrument: Instrument) -> Mapping[str, Names]:
    """Return the names of a line's notes in a key, by id. What bends reach is named by where the line goes from there.

    The fretted notes are named as if nothing were bent: a bend does not change what the finger plays.
    """
    fretted = spell([item.note.midi for item in notes], key)
    reached = iter(spell(_sounding_line(notes), key))
    found: dict[str, Names] = {}
    for item, name in zip(notes, fretted, strict=True):
        next(reached)
        bent = tuple(_bent_name(bend, name, reached) for bend in item.note.bends)
        found[item.id] = Names(name, bent, touched_fret(item, instrument))
    return found


def _sounding_line(notes: Sequence[TakeNote]) -> list[int]:
    """The pitches of a line as MIDI numbers, each fretted one followed by those its bends reach above it."""
    line: list[int] = []
    for item in notes:
        line.append(item.note.midi)
        line += [item.note.midi + semitones for bend in item.note.bends if (semitones := semitones_of(bend))]
    return line


def _bent_name(bend: Bend, fretted: Spelled, reached: Iterator[Spelled]) -> Spelled | None:
    semitones = semitones_of(bend)
    if semitones is None:
        return None
    return next(reached) if semitones else fretted
