"""Degrees of notes, against the key and against a chord."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from transcribe.harmony.chord import Chord
from transcribe.harmony.key import Key
from transcribe.harmony.names import degree_text, fifths_of, pitch_class, steps_from
from transcribe.harmony.sounding import Sounded

# Tones above the seventh of a chord whose kind names them (common practice).
HIGH_NAMES = {2: "9", -5: "b9", 9: "#9", -1: "11", 3: "13"}
ORDINALS = {"1": "root", "2": "2nd", "3": "3rd", "4": "4th", "5": "5th", "6": "6th", "7": "7th"}


def key_degree(pitch: int, key: Key, following: int | None = None) -> str:
    """Return the degree of a sounding pitch in a key, against the major scale of its tonic.

    >>> key_degree(72, Key("A", "minor")), key_degree(75, Key("A", "minor"), 74)
    ('b3', 'b5')
    """
    return degree_text(steps_from(fifths_of(key.tonic), pitch, following, blues=key.mode == "minor"))


def chord_degree(pitch: int, chord: Chord, following: int | None = None) -> str:
    """Return the degree of a sounding pitch in a chord; tones of the chord by its own names.

    >>> chord_degree(76, Chord("C")), chord_degree(77, Chord("G", "7")), chord_degree(76, Chord("G", "13"))
    ('3', 'b7', '13')
    """
    root = fifths_of(chord.root)
    for step in chord.steps:
        if pitch_class(root + step) == pitch % 12:
            high = step in HIGH_NAMES and any(number in chord.kind for number in ("9", "11", "13"))
            return HIGH_NAMES[step] if high else degree_text(step)
    return degree_text(steps_from(root, pitch, following))


def key_degrees(line: Sequence[Sounded], key: Key) -> dict[str, str]:
    """Return the degree of every note in the key, by id; spelled by where its voice goes."""
    following = following_notes(line)
    return {
        note.id: key_degree(note.pitch, key, following[note.id].pitch if note.id in following else None)
        for note in line
    }


def following_notes(line: Sequence[Sounded]) -> Mapping[str, Sounded]:
    """Return, by id, the note of the next moment that the same voice goes on to; the last ones have none."""
    return _same_voice(_moments(line))


def preceding_notes(line: Sequence[Sounded]) -> Mapping[str, Sounded]:
    """Return, by id, the note of the moment before that the same voice comes from; the first ones have none."""
    return _same_voice(_moments(line)[::-1])


def _same_voice(moments: Sequence[Sequence[Sounded]]) -> dict[str, Sounded]:
    """Each note's partner in the moment listed after its own: by rank in chords of one size, else the nearest."""
    found: dict[str, Sounded] = {}
    for here, there in pairwise(moments):
        for place, note in enumerate(here):
            if len(here) == len(there):
                found[note.id] = there[place]
            else:
                found[note.id] = min(there, key=lambda other: abs(other.pitch - note.pitch))
    return found


def _moments(line: Sequence[Sounded]) -> list[list[Sounded]]:
    """Return the notes that start together, lowest first, in order of time."""
    moments: list[list[Sounded]] = []
    for note in line:
        if moments and moments[-1][0].start == note.start:
            moments[-1].append(note)
        else:
            moments.append([note])
    return moments


def degree_words(degree: str) -> str:
    """Return a degree as it is said: "root", "minor 3rd" for b3, "sharp 4th" for #4.

    >>> degree_words("b3"), degree_words("5"), degree_words("b9")
    ('minor 3rd', '5th', 'flat 9th')
    """
    plain = degree.lstrip("#b")
    name = ORDINALS.get(plain, f"{plain}th")
    if degree == plain:
        return name
    if degree in ("b2", "b3", "b6", "b7"):
        return f"minor {name}"
    return f"{'flat' if degree[0] == 'b' else 'sharp'} {name}"
