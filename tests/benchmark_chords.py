"""How well chords are read, against published analyses: ``python -m tests.benchmark_chords`` (extra ``benchmark``).

Bach chorales with the Roman numerals of their analysts (``tests/roman_scores.py``). Told: the notes, and the key that
the analyst hears at each place. Each analysed chord is compared with what is read there, in two ways: its span alone
is heard ("span told"), and the whole stretch in one key is heard with nobody saying where chords change ("untold",
taken where the span begins or, for one held over, lasts the longest). Agreement is not truth: analysts leave out
passing chords, and read sevenths and suspensions differently.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from tests.analysed_closes import print_cadences, print_keys
from tests.roman_scores import CHORALES, MADRIGALS, Analysed, Numeral, analysed_scores
from transcribe.harmony.chord import Chord
from transcribe.harmony.groups import groups_of
from transcribe.harmony.heard_chords import HeardChord, heard_chords
from transcribe.harmony.names import fifths_of, pitch_class
from transcribe.harmony.roles import figured_role
from transcribe.harmony.sounding import Sounded

TRIADS = {(0, 4, 7): "major", (0, 3, 7): "minor", (0, 3, 6): "diminished", (0, 4, 8): "augmented"}
FITTING = 0.85  # share of analysed roots that must sound in their places
PARTS = ("root", "triad", "seventh", "bass", "numeral")


@dataclass(frozen=True)
class Compared:
    """One analysed chord and what was read in its place."""

    score: str
    numeral: Numeral
    read: Chord | None
    following: Chord | None = None

    @property
    def agrees(self) -> dict[str, bool]:
        """Which of ``PARTS`` are the analyst's."""
        if self.read is None:
            return dict.fromkeys(PARTS, False)
        one = self.numeral
        classes, bass = frozenset(self.read.pitch_classes), _bass(self.read)
        root = self.read.pitch_classes[0] == one.root
        return {
            "root": root,
            "triad": root and triad(classes, one.root) == triad(one.classes, one.root),
            "seventh": root and has_seventh(classes, one.root) == has_seventh(one.classes, one.root),
            "bass": root and bass == one.bass,
            "numeral": figured_role(self.read, one.key, self.following) == one.figure,
        }


def triad(classes: frozenset[int], root: int) -> str:
    """The kind of triad within some pitch classes on a root; "other" for none."""
    above = {(tone - root) % 12 for tone in classes}
    return next((name for tones, name in TRIADS.items() if set(tones) <= above), "other")


def has_seventh(classes: frozenset[int], root: int) -> bool:
    """Whether some pitch classes hold a seventh above a root."""
    return bool({(tone - root) % 12 for tone in classes} & {10, 11}) or {(t - root) % 12 for t in classes} == {
        0,
        3,
        6,
        9,
    }


def within(line: Sequence[Sounded], start: Fraction, end: Fraction) -> tuple[Sounded, ...]:
    """The notes that sound in a stretch, cut to it."""
    cut = [
        replace(note, start=max(note.start, start), length=min(note.end, end) - max(note.start, start),
                held_until=min(note.end, end))
        for note in line if note.start < end and note.end > start
    ]  # fmt: skip
    return tuple(sorted(cut, key=lambda note: (note.start, note.pitch, note.id)))


def longest(chords: Sequence[HeardChord], start: Fraction, end: Fraction) -> Chord | None:
    """The chord that lasts longest in a stretch."""
    lasting: Counter[Chord] = Counter()
    for one in chords:
        lasting[one.chord] += max(Fraction(0), min(one.end, end) - max(one.start, start))
    return max(lasting, key=lambda chord: lasting[chord]) if lasting else None


def span_told(score: Analysed) -> Iterator[Compared]:
    """Each analysed chord and what its span alone is read as."""
    for one in score.numerals:
        chords = heard_chords(groups_of(within(score.line, one.start, one.end)), one.key)
        yield Compared(score.name, one, longest(chords, one.start, one.end))


def untold(score: Analysed) -> Iterator[Compared]:
    """Each analysed chord and what is read there with nobody saying where chords change."""
    for key, group in groupby(score.numerals, key=lambda one: one.key):
        here = list(group)
        chords = heard_chords(groups_of(within(score.line, here[0].start, here[-1].end)), key)
        for one in here:
            yield Compared(score.name, one, longest([c for c in chords if c.end > one.start and c.start < one.end],
                                                    one.start, one.end))  # fmt: skip


def fits(score: Analysed) -> bool:
    """Whether analysis and notes are of one edition: most analysed roots sound where they are read."""
    sounds = [
        any(note.pitch % 12 == one.root for note in within(score.line, one.start, one.end)) for one in score.numerals
    ]
    return sum(sounds) >= FITTING * len(sounds)


def _followed(compared: Sequence[Compared]) -> list[Compared]:
    """Each with the chord read after it, which tells where a dominant leads."""
    after = [*(one.read for one in compared[1:]), None]
    return [replace(one, following=chord) for one, chord in zip(compared, after, strict=True)]


def kind_of(one: Numeral) -> str:
    """What an analysed chord is, in words."""
    seventh = " seventh" if has_seventh(one.classes, one.root) else ""
    return f"{triad(one.classes, one.root)}{seventh}, inversion {inversion(one)}"


def inversion(one: Numeral) -> int:
    """0 with the root in the bass, 1 with the third ..."""
    return {0: 0, 3: 1, 4: 1, 6: 2, 7: 2, 8: 2, 9: 3, 10: 3, 11: 3}.get((one.bass - one.root) % 12, -1)


def print_shares(name: str, compared: Sequence[Compared]) -> None:
    """Print the share of each part that agrees."""
    told = [one.agrees for one in compared]
    cells = "".join(f"{sum(each[part] for each in told) / max(1, len(told)):9.3f}" for part in PARTS)
    print(f"  {name:38}{len(compared):6}{cells}")


def _bass(chord: Chord) -> int:
    return chord.pitch_classes[0] if chord.bass is None else pitch_class(fifths_of(chord.bass))


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--madrigals", action="store_true", help="madrigals instead of chorales")
    parser.add_argument("--count", type=int, default=20, help="at most so many scores")
    parser.add_argument("--wrong", action="store_true", help="list the chords that differ, span told")
    arguments = parser.parse_args()
    scores, other = [], []
    for score in analysed_scores(MADRIGALS if arguments.madrigals else CHORALES):
        (scores if fits(score) else other).append(score)
        if len(scores) == arguments.count:
            break
    print(f"{len(scores)} scores, analysts: {', '.join(sorted({score.analyst for score in scores}))}")
    print(f"left out, as the analysis lies over other notes: {', '.join(score.name for score in other) or 'none'}")
    for title, way in (("span told", span_told), ("where chords change untold", untold)):
        compared = [one for score in scores for one in _followed(list(way(score)))]
        print(f"{title:40}{'chords':>6}" + "".join(f"{part:>9}" for part in PARTS))
        print_shares("all", compared)
        for kind in sorted({kind_of(one.numeral) for one in compared}):
            mine = [one for one in compared if kind_of(one.numeral) == kind]
            if len(mine) >= 10:
                print_shares(kind, mine)
        if arguments.wrong and way is span_told:
            for one in compared:
                if not one.agrees["numeral"]:
                    read = (
                        None
                        if one.read is None
                        else f"{one.read} {figured_role(one.read, one.numeral.key, one.following)}"
                    )
                    print(f"    {one.score} at {float(one.numeral.start):g} in {one.numeral.key.tonic} "
                          f"{one.numeral.key.mode}: {one.numeral.figure} read as {read}")  # fmt: skip

    if not arguments.madrigals:
        print_cadences(scores, lambda score: [(one.numeral, one.read) for one in span_told(score)])
    print_keys(scores)


if __name__ == "__main__":
    main()
