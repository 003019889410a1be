"""M. Gotham, K. Gullings, C. Hamm, B. Hughes, B. Jarvis, M. Lavengood, J. Peterson, "Open Music Theory" (CC BY-SA).

Chapters "Roman numerals and SATB chord construction", "Inversion and figured bass", "Introduction to harmony, cadences,
and phrase endings", "Tonicization": their tables from memory. "Embellishing Tones" (J. Peterson; in the first edition
"Embellishing tones"): its definitions read.
"""

from fractions import Fraction

import pytest

from transcribe.harmony.cadences import full_cadence
from transcribe.harmony.chord import chord_from_text
from transcribe.harmony.groups import groups_of
from transcribe.harmony.heard_chords import heard_chords
from transcribe.harmony.key import key_from_text
from transcribe.harmony.roles import figured_role, role
from transcribe.harmony.sounding import Sounded
from transcribe.harmony.tones import tones

C_MAJOR, C_MINOR = key_from_text("C"), key_from_text("C minor")


def line(*notes):
    """(pitch, quarters from the downbeat, length) as harmony hears them; whole quarters are on the beat."""
    return tuple(
        Sounded(f"n{index}", pitch, pitch, Fraction(start), Fraction(length), Fraction(start) + Fraction(length),
                0.75 if Fraction(start).denominator == 1 else 0.5)
        for index, (pitch, start, length) in enumerate(notes)
    )  # fmt: skip


@pytest.mark.parametrize(
    ("key", "chords", "numerals"),
    [
        ("C", "C Dm Em F G Am Bdim", "I ii iii IV V vi vii°"),
        ("C minor", "Cm Ddim Eb Fm G Ab Bdim", "i ii° III iv V VI vii°"),
        ("C", "Cmaj7 Dm7 Em7 Fmaj7 G7 Am7 Bm7b5", "Imaj7 ii7 iii7 IVmaj7 V7 vi7 viiø7"),
    ],
)
def test_the_numerals_of_the_diatonic_chords(key, chords, numerals):
    assert [role(chord_from_text(name), key_from_text(key)) for name in chords.split()] == numerals.split()


@pytest.mark.parametrize(
    ("chord", "figures"),
    [("C", "I"), ("C/E", "I6"), ("C/G", "I64"), ("G7", "V7"), ("G7/B", "V65"), ("G7/D", "V43"), ("G7/F", "V42")],
)
def test_figured_bass_of_triads_and_sevenths(chord, figures):
    assert figured_role(chord_from_text(chord), C_MAJOR) == figures


@pytest.mark.parametrize(
    ("before", "last", "melody", "name"),
    [
        ("G", "C", 72, "perfect authentic"),
        ("G7", "C", 76, "imperfect authentic"),  # the third is on top
        ("G7/B", "C", 72, "imperfect authentic"),  # the dominant is inverted
        ("Bdim", "C", 72, "imperfect authentic"),  # the leading-tone chord stands for V
        ("Dm", "G", 74, "half"),
        ("G", "Am", 72, "deceptive"),
        ("F", "C", 72, "plagal"),
    ],
)
def test_cadences(before, last, melody, name):
    assert full_cadence(chord_from_text(before), chord_from_text(last), C_MAJOR, melody=melody) == name


def test_a_deceptive_cadence_in_minor_goes_to_six():
    assert full_cadence(chord_from_text("G"), chord_from_text("Ab"), C_MINOR, melody=72) == "deceptive"


@pytest.mark.parametrize(
    ("chord", "numeral"),
    [("D7", "V7/V"), ("A7", "V7/ii"), ("E7", "V7/vi"), ("B7", "V7/iii"), ("F#dim7", "vii°7/V")],
)
def test_chords_that_lead_to_another_than_the_tonic(chord, numeral):
    assert role(chord_from_text(chord), C_MAJOR) == numeral


@pytest.mark.parametrize(
    ("pitches", "symbol"),
    [((60, 64, 67), "C"), ((64, 67, 72), "C/E"), ((67, 72, 76), "C/G"), ((59, 65, 67, 74), "G7/B")],
)
def test_chords_and_inversions_by_their_notes(pitches, symbol):
    struck = line(*((pitch, 0, 2) for pitch in pitches))
    (heard,) = heard_chords(groups_of(struck), C_MAJOR)
    assert str(heard.chord) == symbol


@pytest.mark.parametrize(
    ("pitches", "says"),
    [
        ((64, 62, 60), "passing tone"),  # E D C: by step between two tones of C, the same way
        ((64, 65, 64), "neighbour tone"),  # E F E: by step away and back
    ],
)
def test_embellishing_tones_off_the_beat(pitches, says):
    """Over C: the middle note is off the beat."""
    moving = line((pitches[0], 0, "1/2"), (pitches[1], "1/2", "1/2"), (pitches[2], 1, 1))
    assert tones(moving, lambda note: chord_from_text("C"), C_MAJOR)["n1"] == says


def test_an_anticipation_comes_before_its_chord():
    """D C | C over G then C: the last eighth of the dominant already has the tonic."""
    moving = line((62, 0, "1/2"), (60, "1/2", "1/2"), (60, 1, 1))
    under = {0: "G", 1: "G", 2: "C"}
    found = tones(moving, lambda note: chord_from_text(under[int(note.id[1:])]), C_MAJOR)
    assert found["n1"] == "anticipation"


def test_a_suspension_is_held_over_and_falls_by_step():
    """F over F, still F over C, then E: the 4-3 suspension."""
    moving = line((65, 0, 1), (65, 1, 1), (64, 2, 1))
    under = {0: "F", 1: "C", 2: "C"}
    found = tones(moving, lambda note: chord_from_text(under[int(note.id[1:])]), C_MAJOR)
    assert found["n1"] == "suspension, down to the 3rd"


def labels(notes, under="C", key=C_MAJOR):
    return [*tones(line(*notes), lambda note: chord_from_text(under), key).values()]


@pytest.mark.parametrize("middle", [62, 64])
def test_a_passing_tone_may_stand_on_the_beat(middle):
    """ "Either accented or unaccented": by step, the same way, between two chord tones."""
    first, last = (60, 64) if middle == 62 else (62, 65)
    under = "C" if middle == 62 else "Dm"
    assert labels(((first, 0, 1), (middle, 1, 1), (last, 2, 1)), under)[1] == "passing tone"


def test_two_passing_tones_fill_a_fourth():
    assert labels(((67, 0, 1), (69, 1, "1/2"), (71, "3/2", "1/2"), (72, 2, 1)))[1:3] == ["passing tone"] * 2


@pytest.mark.parametrize("middle", [65, 62])
def test_upper_and_lower_neighbours_return(middle):
    assert labels(((64, 0, "1/2"), (middle, "1/2", "1/2"), (64, 1, 1)))[1] == "neighbour tone"


def test_a_double_neighbour_has_a_step_above_and_one_below():
    """What lead players call an enclosure of the tone that returns (common practice)."""
    found = labels(((64, 0, "1/2"), (65, "1/2", "1/2"), (62, 1, "1/2"), (64, "3/2", "1/2")))
    assert found == ["chord tone", "enclosure of the 3rd", "enclosure of the 3rd", "chord tone"]


def test_an_appoggiatura_is_leapt_to_and_gives_way_by_step():
    """G up to D, accented, down to C over C: here a tension with its resolution."""
    assert labels(((67, 0, 1), (74, 1, 1), (72, 2, 1)))[1] == "tension, down to the root"


def test_a_retardation_is_a_suspension_that_goes_up():
    """B over G, still B over C, then C."""
    moving = line((71, 0, 1), (71, 1, 1), (72, 2, 1))
    under = {0: "G", 1: "C", 2: "C"}
    found = tones(moving, lambda note: chord_from_text(under[int(note.id[1:])]), C_MAJOR)
    assert found["n1"] == "retardation, up to the root"


@pytest.mark.parametrize(
    ("held", "goal", "last", "says"), [(65, 64, "C", "3rd"), (74, 72, "C", "root"), (69, 67, "Em", "3rd")]
)
def test_the_common_suspensions(held, goal, last, says):
    """4-3, 9-8 and 7-6 (A over a bass on B or C falls to G): prepared as a chord tone of Dm, held, down by step."""
    moving = line((held, 0, 1), (held, 1, 1), (goal, 2, 1))
    under = {0: "Dm", 1: last, 2: last}
    found = tones(moving, lambda note: chord_from_text(under[int(note.id[1:])]), C_MAJOR)
    assert found["n1"] == f"suspension, down to the {says}"
