"""Chords over a backing that stays on another chord: common practice of lead players, no published source.

Each case was read by hand: what the upper chord is against the lower, which of its tones are new, where they go.
"""

from fractions import Fraction

import pytest

from transcribe.document.analyse import analyse
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.notes.note import Note
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing

DOWN_TO_3, DOWN_TO_5 = "tension, down to the 3rd", "tension, down to the 5th"


def over(vamp, *steps):
    """Pitches struck together and how many quarters they last."""
    takes, at = [], Fraction(0)
    for pitches, length in steps:
        for pitch in pitches:
            note = Note(f"n{len(takes) + 1}", float(at) / 2, float(at + length) / 2, pitch)
            takes.append(TakeNote(note, timing=Timing(int(at // 4) + 1, at % 4, Fraction(length))))
        at += length
    return analyse(TakeDocument(tuple(takes), rhythm=Rhythm(120.0, Meter(4, 4), 0.0), vamp=vamp))


BROKEN = [((pitch,), Fraction(1, 2)) for pitch in (64, 67, 71, 76)]  # E minor, one note after another
CASES = [
    # vamp, steps, (chord, role) of those over it, words of what is added
    ("G", [((67, 71), 1), ((72, 76), 2), ((71, 74), 1)], ("C", "IV over I"), "the 4th and 6th"),
    ("A", [((69, 73), 1), ((74, 78), 1), ((69, 73), 2)], ("D", "IV over I"), "the 4th and 6th"),
    ("G7", [((65, 69, 72), 2), ((67, 71, 74), 2)], ("F", "bVII over I7"), "the 2nd and 4th"),
    ("G7", [((62, 65, 69), 2), ((62, 65, 67), 2)], ("Dm", "v over I7"), "the 2nd"),
    ("C", [((62, 66, 69), 2), ((64, 67, 72), 2)], ("D", "II over I"), "the 2nd, sharp 4th and 6th"),
    ("Em", [((55, 59, 62), 2), ((52, 55, 59), 2)], ("G", "III over i"), "the minor 7th"),
    ("A7", [*BROKEN, ((69,), 2)], ("Em", "v over I7"), "the 2nd"),
    ("Am", [((67, 71, 74), 2), ((69, 72, 76), 2)], ("G", "VII over i"), "the minor 7th, 2nd and 4th"),
    ("E7", [((69, 73, 76), 2), ((68, 71, 76), 2)], ("A", "IV over I7"), "the 4th and 6th"),
    ("D", [((67, 71, 74), 2), ((66, 69, 74), 2)], ("G", "IV over I"), "the 4th and 6th"),
]  # fmt: skip


@pytest.mark.parametrize(("vamp", "steps", "upper", "added"), CASES)
def test_the_chord_over_the_vamp_and_what_it_adds(vamp, steps, upper, added):
    told = over(vamp, *steps)
    (span,) = [span for span in told.chords if span.backing is not None]
    assert (span.symbol, span.role) == upper
    assert f"spell {span} over {vamp} ({span.role}), which adds {added}." in told.about


@pytest.mark.parametrize(
    ("vamp", "steps", "ways"),
    [
        ("G", CASES[0][1], [DOWN_TO_3, DOWN_TO_5]),
        ("D", CASES[9][1], [DOWN_TO_3, DOWN_TO_5]),
        ("E7", CASES[8][1], [DOWN_TO_3, DOWN_TO_5]),
        ("G7", CASES[2][1], ["tension, up to the 3rd", "tension, up to the 5th"]),
        ("G7", CASES[3][1], ["tension, down to the root"]),
    ],
)
def test_where_the_tensions_go(vamp, steps, ways):
    assert [take.tone for take in over(vamp, *steps).notes if (take.tone or "").startswith("tension, ")] == ways


def test_the_fourth_resolves_within_a_single_line():
    """D C# over A7: the fourth leans on the beat and falls to the third."""
    told = over("A7", ((74,), 1), ((73,), 1), ((69,), 2))
    assert told.notes[0].tone == DOWN_TO_3
    assert "The 4th resolves down to the 3rd." in told.about


def test_the_vamps_own_chord_is_no_news():
    told = over("G7", ((67, 71, 74), 2), ((65, 71, 74), 2))
    assert "spell" not in told.about
