"""W. A. Mozart, Piano Sonata in C, K. 545, first movement, bars 1 to 4: the books' example of a prolonged tonic.

Harmony as in E. Aldwell, C. Schachter, "Harmony and Voice Leading", and most primers: I, V43 to I, IV64 to I, V65 to I.
The notes (public domain) and the analysis from memory. The left hand breaks the chords, the right hand sings over them;
written here an octave low enough for nobody's guitar, and heard by the same rules as double stops.
"""

from dataclasses import replace
from fractions import Fraction

from transcribe.harmony.cadences import cadence
from transcribe.harmony.groups import groups_of
from transcribe.harmony.heard_chords import heard_chords
from transcribe.harmony.key import key_from_text
from transcribe.harmony.key_finding import find_key
from transcribe.harmony.roles import role
from transcribe.harmony.sounding import Sounded, strength
from transcribe.rhythm.rhythm import Meter, Rhythm

BARS = Rhythm(130.0, Meter(4, 4), 0.0)
C = key_from_text("C")
LEFT = (
    *(60, 67, 64, 67, 60, 67, 64, 67),
    *(62, 67, 65, 67, 60, 67, 64, 67),
    *(60, 69, 65, 69, 60, 67, 64, 67),
    *(59, 67, 62, 67, 60, 67, 64, 67),
)
RIGHT = (
    *((72, "0", "2"), (76, "2", "1"), (79, "3", "1")),
    *((71, "4", "3/2"), (72, "11/2", "1/4"), (74, "23/4", "1/4"), (72, "6", "2")),
    *((81, "8", "2"), (79, "10", "1"), (84, "11", "1")),
    *((79, "12", "1"), (77, "13", "1"), (76, "14", "2")),
)


def note(name, pitch, start, length):
    start, length = Fraction(start), Fraction(length)
    return Sounded(name, pitch, pitch, start, length, start + length, strength(start, BARS))


def music():
    left = [note(f"l{index}", pitch, Fraction(index, 2), Fraction(1, 2)) for index, pitch in enumerate(LEFT)]
    right = [note(f"r{index}", *told) for index, told in enumerate(RIGHT)]
    return tuple(sorted((*left, *right), key=lambda one: (one.start, one.pitch)))


def test_the_chords_and_their_places():
    heard = heard_chords(groups_of(music()), C)
    assert [role(one.chord, C) for one in heard] == ["I", "V7", "I", "IV", "I", "V7", "I"]
    for one, place in zip(heard, (0, 4, 6, 8, 10, 12, 14), strict=True):  # octaves on the beat tell no chord yet
        assert abs(one.start - place) <= Fraction(1, 2)


def test_the_close_is_authentic():
    before, last = heard_chords(groups_of(music()), C)[-2:]
    assert cadence(before.chord, last.chord, C) == "authentic"


def test_the_key():
    found = find_key(music(), Fraction(4))
    assert (found.tonic, found.mode) == ("C", "major")


def test_a_tone_up_it_is_the_same_in_d():
    moved = tuple(replace(one, pitch=one.pitch + 2, fretted=one.fretted + 2) for one in music())
    heard = heard_chords(groups_of(moved), key_from_text("D"))
    assert [str(one.chord) for one in heard] == ["D", "A7", "D", "G", "D", "A7", "D"]
