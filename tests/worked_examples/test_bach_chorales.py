"""J. S. Bach, chorales of the Riemenschneider edition, as analysed in RomanText files that music21's corpus carries.

Analysts Andrew Jones (1 to 6) and Dmitri Tymoczko (7 on), proofread by Hamish Robb. Four voices as they sound at the
place named, bass first (BWV numbers as in the files); numeral and key are the analyst's. ``tests/benchmark_chords.py``
measures all of them; here is a handful that must be read exactly.
"""

from fractions import Fraction

import pytest

from transcribe.harmony.cadences import full_cadence
from transcribe.harmony.groups import groups_of
from transcribe.harmony.heard_chords import heard_chords
from transcribe.harmony.key import key_from_text
from transcribe.harmony.roles import figured_role
from transcribe.harmony.sounding import Sounded

# No. 1, BWV 269, "Aus meines Herzens Grunde", G major, 3/4, bars 0 to 7: quarters from the first downbeat
FIRST_PHRASE = (
    (-1, (43, 59, 62, 67), "I"), (0, (55, 59, 62, 67), "I"), (1, (52, 60, 64, 67), "IV6"), (2, (54, 57, 62, 74), "V6"),
    (8, (43, 62, 67, 71), "I"), (9, (50, 62, 66, 69), "V"),
)  # fmt: skip
SECOND_PHRASE = (
    (11, (43, 62, 67, 71), "I"), (12, (42, 57, 62, 74), "V6"), (13, (43, 59, 64, 74), "vi65"),
    (15, (47, 62, 67, 71), "I6"), (16, (48, 64, 67, 69), "ii65"), (17, (50, 62, 66, 69), "V"),
    (18, (43, 59, 62, 67), "I"),
)  # fmt: skip
# (number and BWV, bar and beat, key, four voices, chord, numeral)
PLACES = (
    ("2, BWV 347", "1.4", "A major", (51, 54, 66, 71), "B/D#", "V6/V"),
    ("2, BWV 347", "4.1", "E major", (59, 59, 64, 68), "E/B", "I64"),
    ("2, BWV 347", "6.4", "B minor", (49, 64, 70, 73), "A#dim/C#", "vii°6"),
    ("3, BWV 153.1", "1.4", "A minor", (59, 62, 68, 76), "E7/B", "V43"),
    ("4, BWV 86.6", "1.4 and a half", "A major", (56, 59, 66, 74), "G#m7b5", "viiø7"),
    ("4, BWV 86.6", "8.1", "F# minor", (53, 62, 68, 71), "E#dim7", "vii°7"),
    ("7, BWV 17.7", "5.3", "A major", (49, 59, 65, 73), "C#7", "V7/vi"),
    ("7, BWV 17.7", "11.2", "F# minor", (47, 62, 66, 68), "G#m7b5/B", "iiø65"),
    ("8, BWV 40.8", "1.4", "F minor", (48, 60, 65, 68), "Fm/C", "i64"),
    ("10, BWV 38.6", "7.3", "A minor", (50, 65, 71, 74), "Bdim/D", "ii°6"),
    ("10, BWV 38.6", "11.4", "C major", (52, 56, 64, 71), "E", "V/vi"),
    ("12, BWV 65.2", "5.3", "C major", (59, 64, 68, 74), "E7/B", "V43/vi"),
    ("13, BWV 33.6", "2.2 and a half", "C major", (57, 62, 66, 72), "D7/A", "V43/V"),
    ("15, BWV 277", "9.4 and a half", "D minor", (46, 62, 64, 67), "Em7b5/Bb", "iiø43"),
    ("16, BWV 311", "5.3", "B minor", (51, 60, 66, 69), "D#dim7", "vii°7/iv"),
    ("16, BWV 311", "13.1 and a half", "A major", (54, 57, 63, 69), "D#dim/F#", "vii°6/V"),
    ("18, BWV 318", "4.2", "G major", (57, 57, 64, 73), "A", "V/V"),
)  # fmt: skip


def struck(pitches, start=0):
    place = Fraction(start)
    return [Sounded(f"{start}.{k}", p, p, place, Fraction(1), place + 1, 0.75) for k, p in enumerate(sorted(pitches))]


@pytest.mark.parametrize(("work", "place", "key", "pitches", "symbol", "numeral"), PLACES)
def test_the_chord_and_numeral_at_a_place(work, place, key, pitches, symbol, numeral):
    home = key_from_text(key)
    (heard,) = heard_chords(groups_of(struck(pitches)), home)
    assert (str(heard.chord), figured_role(heard.chord, home)) == (symbol, numeral)


@pytest.mark.parametrize("phrase", [FIRST_PHRASE, SECOND_PHRASE])
def test_the_opening_of_the_first_chorale(phrase):
    """Each chord by itself: harmony changes with every beat."""
    g = key_from_text("G")
    for start, pitches, numeral in phrase:
        (heard,) = heard_chords(groups_of(struck(pitches, start)), g)
        assert figured_role(heard.chord, g) == numeral


def test_its_first_phrase_closes_on_the_dominant_and_its_second_at_home():
    """The fermatas of bars 4 and 7; names of cadences by the definitions of Open Music Theory."""
    g = key_from_text("G")
    for phrase, name in ((FIRST_PHRASE, "half"), (SECOND_PHRASE, "perfect authentic")):
        before, last = (heard_chords(groups_of(struck(pitches)), g)[0].chord for _, pitches, _ in phrase[-2:])
        assert full_cadence(before, last, g, melody=phrase[-1][1][-1]) == name
