"""Names for pitches: which letter and accidental a note gets in a key, or without one."""

from __future__ import annotations

from collections.abc import Sequence

from transcribe.harmony.key import Key
from transcribe.score.score import Spelled

# The line of fifths, with C at 0: each step to the right is a fifth up. It orders names by how sharp they are.
LETTERS = "FCGDAEB"
STEP_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
ACCIDENTALS = {-1: "b", 0: "", 1: "#"}
MINOR_TONIC = 3  # a minor tonic stands three fifths sharper than the major tonic of the same signature

# Semitones above the tonic -> steps along the line of fifths from the tonic. The third, sixth and seventh of a major
# key are lowered rather than the second, fifth and sixth raised: that is how blues and rock lines are written (common
# practice). The fourth is raised; both it and a raised root or fifth depend on where the line goes, see below.
STEPS_FROM_TONIC = (0, -5, 2, -3, 4, -1, 6, 1, -4, 3, -2, 5)
RAISED_WHEN_RISING = {1: 7, 8: 8}  # #1 and #5, when the next note is the one a semitone above
LOWERED_WHEN_FALLING = {6: -6}  # b5, when the next note is the one a semitone below


def spell(midis: Sequence[int], key: Key | None = None) -> tuple[Spelled, ...]:
    """Return a name for every pitch of a line, in order, as it sounds (60 is C4).

    In a key, notes outside the scale follow ``STEPS_FROM_TONIC``, changed where a semitone step of the line says so.
    Without a key the line is read in the signature that needs the fewest accidentals.

    >>> [f"{name.step}{name.alter}" for name in spell([60, 63, 64], Key("C", "major"))]
    ['C0', 'E-1', 'E0']
    """
    if not midis:
        return ()
    tonic = plainest_fifths(midis) if key is None else tonic_fifths(key)
    following = [*midis[1:], midis[-1]]
    return tuple(_named(midi, tonic + _steps(midi, after, tonic)) for midi, after in zip(midis, following, strict=True))


def tonic_fifths(key: Key) -> int:
    """Return where the tonic stands on the line of fifths, C at 0.

    >>> tonic_fifths(Key("A", "minor")), tonic_fifths(Key("Bb", "major"))
    (3, -2)
    """
    return key.fifths + (MINOR_TONIC if key.mode == "minor" else 0)


def _steps(midi: int, following: int, tonic: int) -> int:
    degree = (midi - 7 * tonic) % 12
    if following - midi == 1 and degree in RAISED_WHEN_RISING:
        return RAISED_WHEN_RISING[degree]
    if following - midi == -1 and degree in LOWERED_WHEN_FALLING:
        return LOWERED_WHEN_FALLING[degree]
    return STEPS_FROM_TONIC[degree]


def _named(midi: int, fifths: int) -> Spelled:
    """A pitch named by its place on the line of fifths; double accidentals give way to the plain name."""
    if not -8 <= fifths <= 12:  # beyond Fb and B#: a name nobody wants to read
        fifths += 12 if fifths < 0 else -12
    step = LETTERS[(fifths + 1) % 7]
    alter = (fifths + 1) // 7
    return Spelled(step, alter, (midi - alter - STEP_SEMITONES[step]) // 12 - 1)


def plainest_fifths(midis: Sequence[int]) -> int:
    """Return the signature, in fifths, with the fewest notes outside its scale; the nearest to none when several tie.

    >>> plainest_fifths([62, 64, 66, 67])
    1
    """

    def foreign(fifths: int) -> int:
        return sum(1 for midi in midis if not -1 <= _scale_place(midi, fifths) <= 5)

    return min(range(-6, 7), key=lambda fifths: (foreign(fifths), abs(fifths), fifths))


def _scale_place(midi: int, fifths: int) -> int:
    """Steps along the line of fifths from the tonic, -1 to 5 within the major scale."""
    return STEPS_FROM_TONIC[(midi - 7 * fifths) % 12]


def name_text(spelled: Spelled) -> str:
    """Return a name in letters, without the octave: ``Bb``."""
    return spelled.step + ACCIDENTALS[spelled.alter]
