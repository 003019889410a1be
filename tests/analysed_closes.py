"""Cadences and keys of scores with published analyses: what ``tests/benchmark_chords.py`` prints after the chords."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from tests.roman_scores import Analysed, Numeral
from transcribe.harmony.cadences import full_cadence
from transcribe.harmony.chord import KINDS, Chord
from transcribe.harmony.chord_offers import root_name
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key_finding import find_key
from transcribe.harmony.names import pitch_class
from transcribe.harmony.phrases import phrase_ends
from transcribe.harmony.sounding import Sounded

FEWEST_CHORDS = 6  # of a stretch in one key that is asked for its key

# A score -> each numeral with the chord read in its place
Reading = Callable[[Analysed], Iterable[tuple[Numeral, Chord | None]]]


def cadences_told(score: Analysed, reading: Reading) -> list[tuple[str | None, str | None]]:
    """The cadence at each fermata by the analyst's last two chords, and by the two read in their places."""
    compared = list(reading(score))
    found = []
    for end in score.ends:
        at = next((k for k, (one, _) in enumerate(compared) if one.start <= end < one.end), 0)
        while at and _same_chord(compared[at][0], compared[at - 1][0]):
            at -= 1
        if not at:
            continue
        key, top = compared[at][0].key, max(note.pitch for note in score.line if note.start <= end < note.end)
        pairs = [
            [as_chord(one) for one, _ in compared[at - 1 : at + 1]],
            [read for _, read in compared[at - 1 : at + 1]],
        ]
        names = [
            full_cadence(before, last, key, melody=top) if before is not None and last is not None else None
            for before, last in pairs
        ]
        found.append((names[0], names[1]))
    return found


def _same_chord(one: Numeral, other: Numeral) -> bool:
    return one.root == other.root and one.key == other.key


def as_chord(one: Numeral) -> Chord | None:
    """The analyst's chord by name; None for one of a kind that has none here."""
    above = {(tone - one.root) % 12 for tone in one.classes}
    kinds = [kind for kind, steps in KINDS.items() if {pitch_class(step) for step in steps} == above]
    if not kinds:
        return None
    root = root_name(one.root, one.key, kinds[0])
    chord = Chord(root, kinds[0])
    return Chord(root, kinds[0], None if one.bass == one.root else chord.name_of(one.bass))


def print_cadences(scores: Sequence[Analysed], reading: Reading) -> None:
    """Print how the closes at fermatas are named, and how many phrase ends the top voice alone tells."""
    pairs = [pair for score in scores for pair in cadences_told(score, reading)]
    named = [pair for pair in pairs if pair[0] is not None]
    print(f"cadences at fermatas, by the analyst's chords: {len(named)} of {len(pairs)} have a name")
    for name in sorted({told for told, _ in named}):
        mine = [read for told, read in named if told == name]
        print(f"  {name:22} {mine.count(name)} of {len(mine)} named alike")
    print(f"  {'named without cause':22} {sum(read is not None for told, read in pairs if told is None)}")
    ends = [(set(score.ends), set(phrase_ends(_top_voice(score), score.meter.bar_beats))) for score in scores]
    both = sum(len(told & found) for told, found in ends)
    print(f"phrase ends from the top voice alone: {both} of {sum(len(told) for told, _ in ends)} fermatas found, "
          f"{both} of {sum(len(found) for _, found in ends)} found are fermatas")  # fmt: skip


def _top_voice(score: Analysed) -> list[Sounded]:
    return [note for note in score.line if note.id.startswith("p0")]


def print_keys(scores: Sequence[Analysed]) -> None:
    """Print how often the key of a stretch is the analyst's: by the top voice alone, and with the chords told."""
    alone = told = count = 0
    for score in scores:
        for key, group in groupby(score.numerals, key=lambda one: one.key):
            here = list(group)
            if len(here) < FEWEST_CHORDS:
                continue
            top = [note for note in _top_voice(score) if here[0].start <= note.start < here[-1].end]
            chords = [(one, as_chord(one)) for one in here]
            given = [ChordSpan(one.start, one.end, str(chord)) for one, chord in chords if chord is not None]
            found = [find_key(top, score.meter.bar_beats, given=spans) for spans in ((), given)]
            right = [one is not None and (one.tonic, one.mode) == (key.tonic, key.mode) for one in found]
            count, alone, told = count + 1, alone + right[0], told + right[1]
    print(f"keys of {count} stretches in one key: top voice alone {alone}, with the analyst's chords told {told}")
