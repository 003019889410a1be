"""Which chords the groups of a line imply: the likeliest sequence in the key, over the backing.

Each group proposes chords with a cost (how plainly it spells them, how near they lie to the key); changing the chord
costs too, so that passing thirds and sixths between two forms of one chord stay within it. The cheapest sequence is
found by dynamic programming (A. Viterbi, IEEE Trans. Information Theory 13, 1967). The costs are our own, chosen on
double-stop lines whose chords we know. A fourth, second or ninth that gives way to the third or root of the same chord
is a suspension or passing tone and no chord of its own (S. Kostka, D. Payne, "Tonal Harmony", chapters on non-chord
tones; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from transcribe.harmony.chord import Chord
from transcribe.harmony.chord_offers import candidates
from transcribe.harmony.groups import Group
from transcribe.harmony.key import Key

CHANGE, RECOLOUR = 0.45, 0.15  # cost of another chord, of another kind on the same root
WEAK_CHANGE = 0.3  # share by which both grow towards the weakest places of the bar
FULL_CHANGE = 0.3  # share of both where three tones or more are struck: they speak for themselves. Tried: 0.1 to 1
STRANGE, STRANGE_TONE = 0.6, 0.5  # cost of a group that its chord does not hold, and of each tone outside
WITHIN = 0.3  # cost of a group within a chord that it would not have proposed
SHORT_PART = Fraction(1)  # quarters
FULL_WEIGHT = 1.6  # how much more three tones tell than two
# Kinds whose added or held tone belongs to the line where the plain chord on the same root stands beside them
DECORATED = ("sus4", "sus2", "7sus4", "add9", "m(add9)", "9", "m9", "maj9", "6", "m6")


@dataclass(frozen=True, slots=True)
class HeardChord:
    """A chord over some groups, with its bass note when three tones tell it."""

    start: Fraction
    end: Fraction
    chord: Chord
    full: bool = False  # three tones or more spell it
    bass_told: bool = False  # three tones or more, struck together: the lowest is its bass


def heard_chords(
    groups: Sequence[Group], key: Key, backing: Sequence[Chord | None] = (), *, longest_gap: Fraction = Fraction(4)
) -> tuple[HeardChord, ...]:
    """Return the chords that the groups imply, in order; neighbours with one chord and one bass are one.

    ``backing`` holds the chord that is told to sound under each group, None where none is. Groups farther apart than
    ``longest_gap`` quarters are never one chord.
    """
    if not groups:
        return ()
    under = list(backing) if backing else [None] * len(groups)
    offers = [candidates(group, key, chord) for group, chord in zip(groups, under, strict=True)]
    path = _cheapest(groups, offers)
    found: list[HeardChord] = []
    for group, chord in zip(groups, path, strict=True):
        if chord is None:
            continue
        struck = group.is_full and group.bass_struck and not group.broken
        told = HeardChord(group.start, group.end, _with_bass(chord, group), group.is_full, struck)
        last = found[-1] if found else None
        if last is not None and group.start - last.end < longest_gap and _is_same(last, told, group):
            found[-1] = replace(
                last, end=max(last.end, told.end), full=last.full or told.full, bass_told=last.bass_told or struck
            )
        else:
            found.append(told)
    return tuple(_coloured(_without_overlaps(found)))


def _is_same(last: HeardChord, told: HeardChord, group: Group) -> bool:
    """Return whether a group goes on with the chord before it, and with its bass as far as it tells one.

    A lowest note that only rings on under the next of a chord played note by note is no new bass.
    """
    if last.chord.symbol != told.chord.symbol:
        return False
    tells_bass = (
        group.is_full and group.bass_struck and not group.broken and group.classes <= set(told.chord.pitch_classes)
    )
    return not tells_bass or told.chord.bass == last.chord.bass


def _coloured(found: Sequence[HeardChord]) -> list[HeardChord]:
    """Return the chords, a short part or decoration of one put into the one beside it on the same root."""
    joined: list[HeardChord] = []
    for here in found:
        last = joined[-1] if joined else None
        if last is None or last.end != here.start or last.chord.root != here.chord.root:
            joined.append(here)
        elif _is_part(last, here) or _decorates(last, here):
            joined[-1] = replace(here, start=last.start)
        elif last.chord == here.chord or _decorates(here, last):
            joined[-1] = replace(last, end=here.end)
        else:
            joined.append(here)
    return joined


def _decorates(one: HeardChord, plain: HeardChord) -> bool:
    """Return whether a short chord is the plain one beside it with a tone held over or passing by."""
    short = one.end - one.start <= SHORT_PART
    return short and one.chord.kind in DECORATED and plain.chord.kind not in (*DECORATED, "5")


def _is_part(part: HeardChord, whole: HeardChord) -> bool:
    short = part.end - part.start <= SHORT_PART and not part.full
    return short and set(part.chord.pitch_classes) < set(whole.chord.pitch_classes)


def _cheapest(groups: Sequence[Group], offers: Sequence[dict[Chord, float]]) -> list[Chord | None]:
    states: list[Chord] = list(dict.fromkeys(chord for offer in offers for chord in offer))
    if not states:
        return [None] * len(groups)
    roots = np.array([[one.root == other.root for other in states] for one in states])
    moves = np.where(roots, RECOLOUR, CHANGE) * (1.0 - np.eye(len(states)))
    costs = np.zeros(len(states))
    back: list[NDArray[np.intp]] = []
    for index, (group, offer) in enumerate(zip(groups, offers, strict=True)):
        here = np.array([_misfit(group, chord, offer) for chord in states])
        if index == 0:
            costs = here
            continue
        # changing the chord costs the least on the first beat of a bar
        plain = FULL_CHANGE if group.is_full and group.bass_struck and not group.broken else 1.0
        steps = costs[:, None] + moves * (1 + WEAK_CHANGE * (1 - group.weight)) * plain
        back.append(steps.argmin(axis=0))
        costs = steps.min(axis=0) + here
    at = int(costs.argmin())
    path = [at]
    for came in reversed(back):
        path.append(int(came[path[-1]]))
    path.reverse()
    return [states[place] for place in path]


def _misfit(group: Group, chord: Chord, offer: dict[Chord, float]) -> float:
    weight = group.weight * min(2.0, max(0.25, float(group.end - group.start))) * (FULL_WEIGHT if group.is_full else 1)
    if chord in offer:
        return weight * offer[chord]
    outside = len(group.classes - set(chord.pitch_classes))
    return weight * (STRANGE + STRANGE_TONE * outside if outside else WITHIN)


def _with_bass(chord: Chord, group: Group) -> Chord:
    if not group.is_full or group.broken:
        return chord  # one note after another: the lowest is no bass
    name = chord.name_of(group.bass)
    return chord if name in (None, chord.root) else Chord(chord.root, chord.kind, name)


def _without_overlaps(found: Sequence[HeardChord]) -> list[HeardChord]:
    """Return the chords each ended where the next begins."""
    if not found:
        return []
    ends = [chord.start for chord in found[1:]]
    return [
        replace(chord, end=min(chord.end, end)) if end > chord.start else chord
        for chord, end in zip(found, [*ends, found[-1].end], strict=True)
    ]
