"""Where a line implies chords: notes that sound together, and broken chords in a single line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from transcribe.harmony.chord import KINDS
from transcribe.harmony.names import pitch_class
from transcribe.harmony.sounding import Sounded

LEAST_LEAP = 3  # semitones: a broken chord moves by thirds and wider
SLOWEST_QUARTERS = Fraction(1)  # a broken chord whose notes are longer is heard as a melody
LEAST_NOTES = 4  # or three that fill SLOWEST_QUARTERS
BROKEN_KINDS = ("", "m", "dim", "aug", "7", "maj7", "m7", "m7b5", "dim7")

# Sevenths that a broken chord may step from to its root. Not that of a minor seventh chord: pentatonic lines do so too.
SEVENTH_STEPS = {"7": (-2,), "maj7": (5,)}


@dataclass(frozen=True, slots=True)
class Group:
    """Pitches that are heard as one harmony, from ``start`` to ``end`` in quarters from the first downbeat."""

    start: Fraction
    end: Fraction
    pitches: tuple[int, ...]  # lowest first
    weight: float  # of its place in the bar
    broken: bool = False  # one note after another
    bass_struck: bool = True  # the lowest begins with the group; else it rings on from before

    @property
    def classes(self) -> frozenset[int]:
        """The pitch classes, 0 for C."""
        return frozenset(pitch % 12 for pitch in self.pitches)

    @property
    def bass(self) -> int:
        """The lowest pitch class."""
        return self.pitches[0] % 12

    @property
    def is_full(self) -> bool:
        """True with three pitch classes or more: enough to tell which note is in the bass of which chord."""
        return len(self.classes) >= 3


def groups_of(line: Sequence[Sounded]) -> tuple[Group, ...]:
    """Return the double stops, chords and broken chords of a line, in order of time."""
    starts = sorted({note.start for note in line})
    if not starts:
        return ()
    at: dict[Fraction, list[Sounded]] = {start: [] for start in starts}
    for note in line:
        at[note.start].append(note)
    held: list[Sounded] = []  # earlier notes that still ring
    found: list[Group] = []
    single: list[Sounded] = []
    for start, following in zip(starts, [*starts[1:], None], strict=True):
        held = [note for note in held if note.held_until > start]
        together = sorted({note.pitch for note in (*at[start], *held)})
        if len({pitch % 12 for pitch in together}) >= 2:
            found += _broken_chords(single)
            single = []
            end = max(note.end for note in at[start])
            until = end if following is None else min(end, following)
            struck = any(note.pitch == together[0] for note in at[start])
            weight = max(note.weight for note in at[start])
            found.append(Group(start, until, tuple(together), weight, bass_struck=struck))
        else:
            single.append(at[start][0])
        held += at[start]
    return (*found, *_broken_chords(single))


def _broken_chords(notes: Sequence[Sounded]) -> list[Group]:
    """Return the broken chords among notes that follow one another, longest first where two overlap."""
    runs = [(first, last) for first in range(len(notes)) if (last := _run_end(notes, first)) is not None]
    kept: list[tuple[int, int]] = []
    for first, last in sorted(runs, key=lambda run: (run[0] - run[1], run[0])):
        if all(last < other[0] or first > other[1] for other in kept):
            kept.append((first, last))
    return [_group(notes[first : last + 1]) for first, last in sorted(kept)]


def _group(run: Sequence[Sounded]) -> Group:
    return Group(
        run[0].start,
        run[-1].end,
        tuple(sorted({note.pitch for note in run})),
        max(note.weight for note in run),
        broken=True,
    )


def _run_end(notes: Sequence[Sounded], first: int) -> int | None:
    """Return the last note of the longest broken chord that begins with ``notes[first]``; None where none does.

    A broken chord moves by thirds and wider (or between root and seventh), without bends; three of its tones follow one
    another in one direction, and it lasts long enough to be heard as harmony.
    """
    best = None
    steps: set[frozenset[int]] = set()  # pitch classes a step apart that follow one another
    for last in range(first, len(notes)):
        note = notes[last]
        run = notes[first : last + 1]
        if note.pitch != note.fretted or note.curled or not _within_a_chord(_classes(run)):
            break
        if last > first:
            before = notes[last - 1]
            if note.start - before.start >= SLOWEST_QUARTERS:
                break
            if 0 < abs(note.pitch - before.pitch) < LEAST_LEAP:
                steps.add(frozenset((note.pitch % 12, before.pitch % 12)))
        long_enough = len(run) >= LEAST_NOTES or note.end - run[0].start >= SLOWEST_QUARTERS
        if long_enough and _CHORDS.get(_classes(run), frozenset()) >= steps and _goes_one_way(run):
            best = last
    return best


def _classes(run: Sequence[Sounded]) -> frozenset[int]:
    return frozenset(note.pitch % 12 for note in run)


def _goes_one_way(run: Sequence[Sounded]) -> bool:
    """Return whether three notes in a row rise, or fall, through three pitch classes."""
    for one, two, three in zip(run, run[1:], run[2:], strict=False):
        rises = one.pitch < two.pitch < three.pitch
        falls = one.pitch > two.pitch > three.pitch
        if (rises or falls) and len({one.pitch % 12, two.pitch % 12, three.pitch % 12}) == 3:
            return True
    return False


# Pitch classes of every chord -> the steps that its broken form may hold: between seventh and root.
_CHORDS: dict[frozenset[int], frozenset[frozenset[int]]] = {
    frozenset((root + pitch_class(step)) % 12 for step in KINDS[kind]): frozenset(
        frozenset((root, (root + pitch_class(step)) % 12)) for step in SEVENTH_STEPS.get(kind, ())
    )
    for kind in BROKEN_KINDS
    for root in range(12)
}


@cache
def _within_a_chord(classes: frozenset[int]) -> bool:
    return any(classes <= chord for chord in _CHORDS)
