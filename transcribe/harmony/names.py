"""Note names as places on the line of fifths, and degrees against a tonic.

The line of fifths (... Bb F C G D A E B F# ...) keeps C# and Db apart; twelve steps along it are an octave's difference
of spelling. C stands at 0. D. Temperley, "The Cognition of Basic Musical Structures", MIT Press 2001, chapter 5.
"""

from __future__ import annotations

import re

from transcribe.errors import SettingsError

LETTERS = "FCGDAEB"
# Steps along the line of fifths from a tonic to each degree of its major scale, and what a sharp adds.
DEGREE_FIFTHS = {1: 0, 2: 2, 3: 4, 4: -1, 5: 1, 6: 3, 7: 5}
SHARP_FIFTHS = 7
# Semitones above the tonic -> steps along the line, as lead lines are written (common practice): b3, b6 and b7 rather
# than #2, #5 and #6; #4 unless it falls; see the two tables below.
PLAIN_STEPS = (0, -5, 2, -3, 4, -1, 6, 1, -4, 3, -2, 5)
RISING_STEPS = {1: 7, 8: 8}  # #1 and #5 where the next note lies a semitone above
FALLING_STEPS = {6: -6}  # b5 where the next note lies a semitone below


def fifths_of(name: str) -> int:
    """Return the place of a note name on the line of fifths. Raises SettingsError for what is no name.

    >>> fifths_of("Bb"), fifths_of("F#")
    (-2, 6)
    """
    match = re.fullmatch(r"([A-G])(#{0,2}|b{0,2})", name)
    if not match:
        raise SettingsError(f"no such note: {name!r}", "Write a letter from A to G, with # or b where it has one.")
    letter, sign = match.groups()
    return LETTERS.index(letter) - 1 + SHARP_FIFTHS * (sign.count("#") - sign.count("b"))


def name_at(fifths: int) -> str:
    """Return the note name at a place on the line of fifths.

    >>> name_at(-2), name_at(6)
    ('Bb', 'F#')
    """
    sharps, letter = divmod(fifths + 1, 7)
    return LETTERS[letter] + ("#" * sharps if sharps >= 0 else "b" * -sharps)


def pitch_class(fifths: int) -> int:
    """Return 0 (C) to 11 (B) for a place on the line of fifths."""
    return 7 * fifths % 12


def steps_from(tonic_fifths: int, pitch: int, following: int | None = None, *, blues: bool = False) -> int:
    """Return how a pitch is spelled: steps along the line of fifths from the tonic.

    ``pitch`` and ``following`` (the next note of the line) are MIDI note numbers. In a ``blues`` line the note between
    4 and 5 is b5 wherever it does not rise by a semitone.
    """
    semitones = (pitch - pitch_class(tonic_fifths)) % 12
    move = None if following is None else following - pitch
    if move == 1 and semitones in RISING_STEPS:
        return RISING_STEPS[semitones]
    if semitones in FALLING_STEPS and (move == -1 or (blues and move != 1)):
        return FALLING_STEPS[semitones]
    return PLAIN_STEPS[semitones]


def degree_text(steps: int) -> str:
    """Return the degree so many steps along the line of fifths from the tonic, against its major scale.

    >>> degree_text(-3), degree_text(6), degree_text(1)
    ('b3', '#4', '5')
    """
    number = next(degree for degree, place in DEGREE_FIFTHS.items() if (steps - place) % SHARP_FIFTHS == 0)
    sharps = (steps - DEGREE_FIFTHS[number]) // SHARP_FIFTHS
    return ("#" * sharps if sharps >= 0 else "b" * -sharps) + str(number)


def readable(fifths: int) -> int:
    """Return the same pitch class spelled with one sharp or flat at the most: B# and Cb are the last to stay."""
    if -8 < fifths < 13:
        return fifths
    return fifths + 12 if fifths < 0 else fifths - 12
