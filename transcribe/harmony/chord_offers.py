"""Which chords a group of pitches may stand for, each with a cost: how plainly it spells them, how near they lie to
the key.

The costs are our own, chosen on double-stop lines whose chords we know; that primary chords are preferred is common
practice of harmonised thirds and sixths, that a diminished chord leads up from its root common practice of the books.
"""

from __future__ import annotations

from functools import cache

from transcribe.harmony.chord import KINDS, Chord
from transcribe.harmony.groups import Group
from transcribe.harmony.key import Key
from transcribe.harmony.names import fifths_of, name_at, pitch_class, readable, steps_from
from transcribe.harmony.roles import scale_fifths, tonic_fifths

OUTSIDE_KEY = 0.4  # cost of a chord tone outside the scale
UPTURNED = 0.1  # cost of a bass that is not the root
FIFTH_MISSING = 0.15
ONE_STRANGER = 0.5  # cost of leaving one tone of many out: a passing or held tone
MANY = 4  # pitch classes
LEADING = ("dim", "dim7", "m7b5")  # kinds that lead up a half step from their root
LEADING_RANKS = {11: 0.0, 2: 0.1, 6: 0.2}  # vii; ii (of minor keys); vii of V. Others 0.6
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
    """Return the chords that all tones spell; where they spell none, and are many, those of all tones but one."""
    found = _spelled_by(group.classes, group, key)
    if found or len(group.classes) < MANY:
        return found
    for tone in sorted(group.classes):
        for chord, cost in _spelled_by(group.classes - {tone}, group, key).items():
            found[chord] = min(cost + ONE_STRANGER, found.get(chord, cost + ONE_STRANGER))
    return found


def _spelled_by(classes: frozenset[int], group: Group, key: Key) -> dict[Chord, float]:
    return {
        Chord(root_name(root, key, kind), kind): cost + (0.0 if group.bass == root else UPTURNED)
        for root, kind, cost in _spellings().get(classes, ())
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


def root_name(pitch: int, key: Key, kind: str = "") -> str:
    """Return the name of a root in the key: bVII rather than #VI, #IV only by name of the key's own scale.

    The root of a diminished chord outside the scale is spelled as the half step below the degree that it leads to.

    >>> root_name(1, Key("C", "major")), root_name(1, Key("C", "major"), "dim7")
    ('Db', 'C#')
    """
    tonic = tonic_fifths(key)
    scale = {pitch_class(tonic + step): tonic + step for step in scale_fifths(key)}
    if kind in LEADING and pitch % 12 not in scale and (pitch + 1) % 12 in scale:
        return name_at(readable(scale[(pitch + 1) % 12] + 5))
    return name_at(readable(tonic + steps_from(tonic, pitch)))


def _cost_in_key(chord: Chord, key: Key, *, full: bool) -> float:
    tonic = tonic_fifths(key)
    scale = {pitch_class(tonic + step) for step in scale_fifths(key)}
    strangers = sum(1 for tone in chord.pitch_classes if tone not in scale)
    above = (pitch_class(fifths_of(chord.root)) - pitch_class(tonic)) % 12
    if chord.kind == "7" and above in (0, 5):
        strangers = 0  # the blues
    ranks = LEADING_RANKS if chord.kind in LEADING else MAJOR_RANKS if key.mode == "major" else MINOR_RANKS
    rank = ranks.get(above, 0.6)
    return OUTSIDE_KEY * strangers * (0.25 if full else 1.0) + rank * (0.1 if full else 1.0)
