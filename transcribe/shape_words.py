"""A chord shape in a player's words ("E", "E of A", "E at 5") to the part of the neck it stands for."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from fingering.fretboard import STANDARD_OPEN_MIDI, Fretboard
from fingering.needs import Limits
from fingering.shapes import OPEN_ROOT, limits_for_shape
from transcribe.document.model import TakeDocument
from transcribe.errors import SettingsError

SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
WRITE = "Write the shape and its chord or fret: E, 'E of A' or 'E at 5'; shapes are C, A, G, E and D."
STANDARD_STEPS = [5, 4, 5, 5]  # semitones from string 1 down to string 5; the sixth may be tuned down
_SHAPE = re.compile(
    r"(?P<letter>[CAGED])(?:[- ]?shape)?"
    r"(?:\s+(?:of|for)\s+(?P<chord>[A-G][#b♯♭]?)\S*|(?:\s+at|\s*,)?\s*(?P<fret>\d{1,2})(?:st|nd|rd|th)?(?:\s+fret)?)?",
    re.IGNORECASE,
)
_ROOT = re.compile(r"([A-G])([#b♯♭]?)")


def limits_from_shape(words: str, document: TakeDocument, neck: Fretboard, pitches: Sequence[int]) -> Limits:
    """Return the frets around a shape.

    The chord is the one named; else the document's vamp, its only chord, or the chord on its key's tonic. Of the
    places the shape has on the neck, an octave apart, the one is taken where more of ``pitches`` lie. Raises
    SettingsError when the words name no shape or nothing tells its chord.
    """
    match = _SHAPE.fullmatch(" ".join(words.split()))
    if not match:
        raise SettingsError(f"no such shape: {words!r}", WRITE)
    letter = match["letter"].upper()
    steps = [high - low for high, low in pairwise(neck.open_midi)]
    if steps[:4] != STANDARD_STEPS:
        raise SettingsError("shapes have their names in standard tuning alone", "Limit the frets instead: --frets 5-9.")
    tuned = neck.open_midi[0] - STANDARD_OPEN_MIDI[0] + neck.capo  # the nut of a guitar tuned down, or the capo
    if match["fret"] is not None:
        fret = int(match["fret"])
        return limits_for_shape(letter, (OPEN_ROOT[letter] + fret + tuned) % 12, neck, octave=fret // 12)
    root = root_of(match["chord"]) if match["chord"] else _root_told(words, document)
    choices = []
    for octave in (0, 1):
        barre = (root - OPEN_ROOT[letter] - tuned) % 12 + 12 * octave
        if octave == 0 or barre + 4 <= neck.last_fret:
            choices.append(limits_for_shape(letter, root, neck, octave=octave))
    return max(choices, key=lambda limits: _held(limits, neck, pitches))


def root_of(symbol: str) -> int:
    """Return the pitch class of a chord's root, 0 for C; raises SettingsError when it names none.

    >>> [root_of(symbol) for symbol in ("A7", "F#m", "Bb")]
    [9, 6, 10]
    """
    match = _ROOT.match(symbol[:1].upper() + symbol[1:])
    if not match:
        raise SettingsError(f"no such chord: {symbol!r}", "Write its root first, such as A, F#m or Bb7.")
    step = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[match.group(2)]
    return (SEMITONES[match.group(1)] + step) % 12


def _root_told(words: str, document: TakeDocument) -> int:
    if document.vamp:
        return root_of(document.vamp)
    roots = {root_of(chord.symbol) for chord in document.chords}
    if len(roots) == 1:
        return roots.pop()
    if document.key is not None:
        return root_of(document.key.tonic)
    why = "the document names several chords and no key" if roots else "the document names no chord and no key"
    raise SettingsError(f"the chord of the {words.upper()[:1]}-shape is not known: {why}", WRITE)


def _held(limits: Limits, neck: Fretboard, pitches: Sequence[int]) -> int:
    """Return how many of the pitches lie within the limits."""
    return sum(any(limits.allow(place.string, place.fret) for place in neck.places(midi)) for midi in pitches)
