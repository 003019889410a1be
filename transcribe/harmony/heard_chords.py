"""Which chords the groups of a line imply: the likeliest sequence in the key, over the backing.

Each group proposes chords with a cost (how plainly it spells them, how near they lie to the key); changing the chord
costs too, so that passing thirds and sixths between two forms of one chord stay within it. The cheapest sequence is
found by dynamic programming (A. Viterbi, IEEE Trans. Information Theory 13, 1967). The costs are our own, chosen on
double-stop lines whose chords we know; that primary chords are preferred is common practice of harmonised thirds and
sixths.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from transcribe.harmony.chord import KINDS, Chord
from transcribe.harmony.groups import Group
from transcribe.harmony.key import Key
from transcribe.harmony.names import fifths_of, name_at, pitch_class, readable, steps_from
from transcribe.harmony.roles import scale_fifths, tonic_fifths

CHANGE, RECOLOUR = 0.45, 0.15  # cost of another chord, of another kind on the same root
WEAK_CHANGE = 0.3  # share by which both grow towards the weakest places of the bar
STRANGE, STRANGE_TONE = 0.6, 0.5  # cost of a group that its chord does not hold, and of each tone outside
WITHIN = 0.3  # cost of a group within a chord that it would not have proposed
OUTSIDE_KEY = 0.4  # cost of a chord tone outside the scale
UPTURNED = 0.1  # cost of a bass that is not the root
FIFTH_MISSING = 0.15
SHORT_PART = Fraction(1)  # quarters
FULL_WEIGHT = 1.6  # how much more three tones tell than two
# Plain cost of each kind where three tones or more spell it out
KIND_COSTS = {
    "": 0.0, "m": 0.0, "7": 0.05, "m7": 0.1, "maj7": 0.1, "dim": 0.1, "m7b5": 0.15, "dim7": 0.1, "aug": 0.2, "6": 0.25,
    "m6": 0.3, "sus4": 0.3, "sus2": 0.35, "7sus4": 0.35, "m(maj7)": 0.3, "add9": 0.35, "m(add9)": 0.4, "9": 0.3,
    "m9": 0.35, "maj9": 0.35,
}  # fmt: skip
NO_FIFTH = ("7", "maj7", "m7", "9", "m9", "maj9")  # kinds whose fifth is often left out
# Two tones a third or sixth apart: semitones of the root below the lower tone of the third -> kind and cost
MAJOR_THIRD_IN = ((0, "", 0.0), (-3, "m", 0.25))  # root and third; third and fifth of a minor chord
MINOR_THIRD_IN = ((0, "m", 0.0), (-4, "", 0.25), (-7, "7", 0.5))  # ...; fifth and seventh of a dominant
FIFTH_IN = (("5", 0.0), ("", 0.1), ("m", 0.1))  # a power chord; part of a triad that its neighbours tell
# Cost of a chord by where its root lies above the tonic, in semitones; others 0.6. Common practice.
MAJOR_RANKS = {0: 0.0, 5: 0.0, 7: 0.0, 2: 0.3, 9: 0.3, 4: 0.45, 10: 0.35}
MINOR_RANKS = {0: 0.0, 5: 0.0, 7: 0.05, 3: 0.15, 8: 0.2, 10: 0.15}


@dataclass(frozen=True, slots=True)
class HeardChord:
    """A chord over some groups, with its bass note when three tones tell it."""

    start: Fraction
    end: Fraction
    chord: Chord
    full: bool = False  # three tones or more spell it


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
        told = HeardChord(group.start, group.end, _with_bass(chord, group), group.is_full)
        last = found[-1] if found else None
        if last is not None and group.start - last.end < longest_gap and _is_same(last, told, group):
            found[-1] = HeardChord(last.start, max(last.end, told.end), last.chord, last.full or told.full)
        else:
            found.append(told)
    return tuple(_coloured(_without_overlaps(found)))


def _is_same(last: HeardChord, told: HeardChord, group: Group) -> bool:
    """Return whether a group goes on with the chord before it, and with its bass as far as it tells one."""
    if last.chord.symbol != told.chord.symbol:
        return False
    tells_bass = group.is_full and not group.broken and group.classes <= set(told.chord.pitch_classes)
    return not tells_bass or told.chord.bass == last.chord.bass


def _coloured(found: Sequence[HeardChord]) -> list[HeardChord]:
    """Return the chords, a short third or sixth of one that the next tells in full put into that one."""
    joined: list[HeardChord] = []
    for here in found:
        last = joined[-1] if joined else None
        if last is None or last.end != here.start or last.chord.root != here.chord.root:
            joined.append(here)
        elif _is_part(last, here):
            joined[-1] = HeardChord(last.start, here.end, here.chord, here.full)
        else:
            joined.append(here)
    return joined


def _is_part(part: HeardChord, whole: HeardChord) -> bool:
    short = part.end - part.start <= SHORT_PART and not part.full
    return short and set(part.chord.pitch_classes) < set(whole.chord.pitch_classes)


def candidates(group: Group, key: Key, backing: Chord | None = None) -> dict[Chord, float]:
    """Return the chords that a group may stand for, each with its cost; none where it spells no chord."""
    classes = group.classes
    offers = _spelled(group, key) if group.is_full else _of_two(group, key)
    costs = {chord: cost + _cost_in_key(chord, key, full=group.is_full) for chord, cost in offers.items()}
    if backing is not None:
        plain = Chord(backing.root, backing.kind)
        if classes <= set(plain.pitch_classes):
            costs[plain] = -0.5
        elif backing.kind == "":
            seventh = Chord(backing.root, "7")
            if classes <= set(seventh.pitch_classes):
                costs[seventh] = -0.2
        if _is_coloured_fifth(classes, plain):
            costs[plain] = -0.1
    return costs


def _is_coloured_fifth(classes: frozenset[int], backing: Chord) -> bool:
    """Return whether a fifth adds no more than the sixth or ninth to a chord: the third and sixth of G6, not Em."""
    root = backing.pitch_classes[0]
    above = {(tone - root) % 12 for tone in classes}
    is_fifth = len(classes) == 2 and any((tone + 7) % 12 in classes for tone in classes)
    return is_fifth and len(classes & set(backing.pitch_classes)) == 1 and bool(above & {2, 9})


def _spelled(group: Group, key: Key) -> dict[Chord, float]:
    return {
        Chord(root_name(root, key), kind): cost + (0.0 if group.bass == root else UPTURNED)
        for root, kind, cost in _spellings().get(group.classes, ())
    }


@cache
def _spellings() -> dict[frozenset[int], list[tuple[int, str, float]]]:
    """Return, for pitch classes, the root, kind and cost of each chord that they spell."""
    found: dict[frozenset[int], list[tuple[int, str, float]]] = {}
    for kind, cost in KIND_COSTS.items():
        for root in range(12):
            tones = frozenset((root + pitch_class(step)) % 12 for step in KINDS[kind])
            found.setdefault(tones, []).append((root, kind, cost))
            if kind in NO_FIFTH:
                found.setdefault(tones - {(root + 7) % 12}, []).append((root, kind, cost + FIFTH_MISSING))
    return found


def _of_two(group: Group, key: Key) -> dict[Chord, float]:
    one, other = sorted(group.classes)
    for low, size in ((one, other - one), (other, 12 - other + one)):
        if size == 4:
            return {Chord(root_name((low + down) % 12, key), kind): cost for down, kind, cost in MAJOR_THIRD_IN}
        if size == 3:
            return {Chord(root_name((low + down) % 12, key), kind): cost for down, kind, cost in MINOR_THIRD_IN}
        if size == 7:
            return {Chord(root_name(low, key), kind): cost for kind, cost in FIFTH_IN}
    if other - one == 6:  # third and seventh of a dominant, either way round
        return {Chord(root_name((tone - 4) % 12, key), "7"): 0.2 for tone in (one, other)}
    return {}


def root_name(pitch: int, key: Key) -> str:
    """Return the name of a root in the key: bVII rather than #VI, #IV only by name of the key's own scale."""
    tonic = tonic_fifths(key)
    return name_at(readable(tonic + steps_from(tonic, pitch)))


def _cost_in_key(chord: Chord, key: Key, *, full: bool) -> float:
    tonic = tonic_fifths(key)
    scale = {pitch_class(tonic + step) for step in scale_fifths(key)}
    strangers = sum(1 for tone in chord.pitch_classes if tone not in scale)
    above = (pitch_class(fifths_of(chord.root)) - pitch_class(tonic)) % 12
    if chord.kind == "7" and above in (0, 5):
        strangers = 0  # the blues
    rank = (MAJOR_RANKS if key.mode == "major" else MINOR_RANKS).get(above, 0.6)
    return OUTSIDE_KEY * strangers * (0.25 if full else 1.0) + rank * (0.1 if full else 1.0)


def _cheapest(groups: Sequence[Group], offers: Sequence[dict[Chord, float]]) -> list[Chord | None]:
    states: list[Chord] = list(dict.fromkeys(chord for offer in offers for chord in offer))
    if not states:
        return [None] * len(groups)
    costs = [0.0] * len(states)
    back: list[list[int]] = []
    for index, (group, offer) in enumerate(zip(groups, offers, strict=True)):
        here = [_misfit(group, chord, offer) for chord in states]
        if index == 0:
            costs = here
            continue
        came, summed = [], []
        for now, chord in enumerate(states):
            steps = [costs[before] + _change(states[before], chord, group) for before in range(len(states))]
            best = min(range(len(states)), key=steps.__getitem__)
            came.append(best)
            summed.append(steps[best] + here[now])
        back.append(came)
        costs = summed
    at = min(range(len(states)), key=costs.__getitem__)
    path = [at]
    for came in reversed(back):
        path.append(came[path[-1]])
    path.reverse()
    return [states[place] for place in path]


def _misfit(group: Group, chord: Chord, offer: dict[Chord, float]) -> float:
    weight = group.weight * min(2.0, max(0.25, float(group.end - group.start))) * (FULL_WEIGHT if group.is_full else 1)
    if chord in offer:
        return weight * offer[chord]
    outside = len(group.classes - set(chord.pitch_classes))
    return weight * (STRANGE + STRANGE_TONE * outside if outside else WITHIN)


def _change(before: Chord, chord: Chord, group: Group) -> float:
    """Return what it costs to change the chord here: the least on the first beat of a bar."""
    if before == chord:
        return 0.0
    return (RECOLOUR if before.root == chord.root else CHANGE) * (1 + WEAK_CHANGE * (1 - group.weight))


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
        HeardChord(chord.start, min(chord.end, end), chord.chord, chord.full) if end > chord.start else chord
        for chord, end in zip(found, [*ends, found[-1].end], strict=True)
    ]
