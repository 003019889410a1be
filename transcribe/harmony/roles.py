"""Roman numerals: the place of a chord in a key."""

from __future__ import annotations

from transcribe.harmony.chord import Chord
from transcribe.harmony.key import Key
from transcribe.harmony.names import fifths_of, pitch_class, readable

# Steps along the line of fifths from the tonic -> numeral and accidental, against the scale of the key. In a minor key
# III, VI and VII are those of the natural minor scale and carry no flat; the raised seventh's chord is vii°.
# S. Kostka, D. Payne, "Tonal Harmony"; M. Gotham et al., "Open Music Theory" (both: common practice, capitals for a
# major third, small letters for a minor one).
MAJOR_PLACES = {0: "I", 2: "II", 4: "III", -1: "IV", 1: "V", 3: "VI", 5: "VII"}
MINOR_PLACES = {0: "I", 2: "II", -3: "III", -1: "IV", 1: "V", -4: "VI", -2: "VII", 5: "VII"}
KIND_SIGNS = {
    "dim": "°", "aug": "+", "7": "7", "maj7": "maj7", "m7": "7", "m7b5": "ø7", "dim7": "°7", "m(maj7)": "(maj7)",
    "6": "6", "m6": "6", "sus2": "sus2", "sus4": "sus4", "7sus4": "7sus4", "aug7": "+7", "add9": "add9",
    "m(add9)": "add9", "9": "9", "maj9": "maj9", "m9": "9", "7b9": "7b9", "7#9": "7#9", "7b5": "7b5", "11": "11",
    "13": "13",  # a power chord has none: its place is that of the triad it stands for
}  # fmt: skip
# Figured bass of triads and sevenths by inversion (Open Music Theory, "Inversion and figured bass").
TRIAD_FIGURES, SEVENTH_FIGURES = ("", "6", "64"), ("7", "65", "43", "42")
SEVENTHS = ("7", "maj7", "m7", "m7b5", "dim7", "m(maj7)", "aug7", "7b5")


def tonic_fifths(key: Key) -> int:
    """Return where the tonic stands on the line of fifths, C at 0."""
    return fifths_of(key.tonic)


def role(chord: Chord, key: Key, following: Chord | None = None) -> str:
    """Return the place of a chord in a key: "I", "ii", "V7", "bVII", "V7/V".

    A major triad or dominant seventh outside the scale that leads by a falling fifth to a major or minor chord of the
    key is a secondary dominant. I7 and IV7 keep their names, as in a blues, unless the chord ``following`` is the plain
    one that they lead to: IV, and in minor iv or VII.

    >>> role(Chord("A", "7"), Key("G", "major")), role(Chord("F"), Key("G", "major"))
    ('V7/V', 'bVII')
    >>> role(Chord("C", "7"), Key("C", "major")), role(Chord("C", "7"), Key("C", "major"), Chord("F"))
    ('I7', 'V7/IV')
    """
    applied = _applied(chord, key, following)
    return applied if applied is not None else plain_role(chord, key)


def plain_role(chord: Chord, key: Key) -> str:
    """Return the place of a chord by its root alone, whatever it may lead to: "II" where ``role`` says "V/V"."""
    steps = _near(fifths_of(chord.root) - tonic_fifths(key))
    places = MAJOR_PLACES if key.mode == "major" else MINOR_PLACES
    numeral, sign = places.get(steps), ""
    if key.mode == "minor" and steps == 5 and 4 in chord.steps:
        numeral = None  # a major chord on the raised seventh is no leading-tone chord
    if numeral is None:
        numeral, sign = _altered(steps, key)
    if _small(chord) or (chord.kind == "5" and _has_minor_third(steps, key)):
        numeral = numeral.lower()
    return sign + numeral + KIND_SIGNS.get(chord.kind, "")


def figured_role(chord: Chord, key: Key, following: Chord | None = None) -> str:
    """Return the numeral with its figured bass instead of a bass note: "V65", "ii6", "vii°42".

    >>> figured_role(Chord("D", "7", "F#"), Key("G", "major"))
    'V65'
    """
    whole = role(chord, key, following)
    numeral, slash, goal = whole.partition("/")
    if chord.inversion < 0:
        return whole
    seventh = chord.kind in SEVENTHS
    if not seventh and len(chord.steps) != 3:
        return whole
    figures = SEVENTH_FIGURES if seventh else TRIAD_FIGURES
    figure = figures[min(chord.inversion, len(figures) - 1)]
    stem = numeral.removesuffix("maj7").removesuffix("7") if seventh else numeral
    return f"{stem}{figure}{slash}{goal}"


def _near(steps: int) -> int:
    """Return the same root by its usual spelling: bII to #IV, and bV."""
    return steps if -7 < steps < 7 else steps - 12 if steps > 0 else steps + 12


def _altered(steps: int, key: Key) -> tuple[str, str]:
    """Return numeral and accidental of a root outside the scale, told against the degrees of the key's scale."""
    places = MAJOR_PLACES if key.mode == "major" else {k: v for k, v in MINOR_PLACES.items() if k != 5}
    for shift, sign in ((-7, "b"), (7, "#")):
        numeral = places.get(steps - shift)
        if numeral is not None:
            return numeral, sign
    semitones = pitch_class(steps)  # spelled outside any scale: by sound
    numeral = next(name for place, name in places.items() if (pitch_class(place) - 1) % 12 == semitones)
    return numeral, "b"


def _small(chord: Chord) -> bool:
    return -3 in chord.steps and 4 not in chord.steps


def _has_minor_third(steps: int, key: Key) -> bool:
    """Return whether the scale's own triad on a root has a minor third: what a power chord leaves open."""
    scale = frozenset(range(-1, 6)) if key.mode == "major" else frozenset(range(-4, 3))
    return steps - 3 in scale and steps + 4 not in scale


def _applied(chord: Chord, key: Key, following: Chord | None) -> str | None:
    """Return "V/x" or "V7/x" for a secondary dominant, "vii°7/x" for its leading-tone chord, else None."""
    place = _near(fifths_of(chord.root) - tonic_fifths(key))
    if chord.kind in ("", "7", "9", "7b9"):
        goal, numeral = place - 1, "V"
    elif chord.kind in ("dim", "dim7", "m7b5"):
        goal, numeral = place - 5, "vii"
    else:
        return None
    goals = _goals(key)
    if goal not in goals or _belongs(chord, key):
        return None
    if numeral == "V" and place in (0, -1) and not _goes_to(following, goal, key):
        return None  # I7 and IV7 of a blues; the major I and IV of a minor key
    return f"{numeral}{KIND_SIGNS.get(chord.kind, '')}/{goals[goal]}"


def _goes_to(following: Chord | None, goal: int, key: Key) -> bool:
    """Return whether the next chord is the goal and plain: in a blues it is a seventh chord of its own."""
    if following is None or following.is_dominant:
        return False
    return _near(fifths_of(following.root) - tonic_fifths(key)) == goal


def _goals(key: Key) -> dict[int, str]:
    """Return the chords of the key that can be led to, by root; the tonic needs no second name."""
    if key.mode == "major":
        return {2: "ii", 4: "iii", -1: "IV", 1: "V", 3: "vi"}
    return {-3: "III", -1: "iv", 1: "V", -4: "VI", -2: "VII"}


def _belongs(chord: Chord, key: Key) -> bool:
    """True when every tone lies in the scale (a minor key's has both sevenths)."""
    root = fifths_of(chord.root)
    scale = scale_fifths(key)
    return all(readable(root + step - tonic_fifths(key)) in scale for step in chord.steps)


def scale_fifths(key: Key) -> frozenset[int]:
    """Return the notes of the key as steps from the tonic; a minor key counts the raised seventh too."""
    if key.mode == "major":
        return frozenset(range(-1, 6))
    return frozenset((*range(-4, 3), 5))
