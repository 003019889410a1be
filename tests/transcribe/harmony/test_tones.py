import pytest

from tests.harmony_lines import line
from transcribe.harmony.chord import chord_from_text
from transcribe.harmony.key import key_from_text
from transcribe.harmony.tones import tones

G = key_from_text("G")


def over(symbol, notes, key=G):
    chord = chord_from_text(symbol) if symbol else None
    return [tones(notes, lambda note: chord, key)[note.id] for note in notes]


@pytest.mark.parametrize(
    ("pitches", "says"),
    [
        ((67, 69, 71), "passing tone"),
        ((67, 66, 67), "neighbour tone"),
        ((74, 70, 71), "half step into the 3rd"),  # from a leap, up a half step
        ((67, 68, 69), "passing tone"),  # chromatic, and on to no chord tone
        ((62, 63, 62), "half step into the 5th"),  # outside the key
        ((67, 65, 62), "blue note"),  # b7 of a major key, left by a leap
        ((67, 68, 62), "outside tone"),
        ((67, 64, 67), "tension"),
    ],
)
def test_the_middle_note_over_a_g_chord(pitches, says):
    notes = line((pitches[0], "1/2"), (pitches[1], "1/2"), (pitches[2], "1"))
    assert over("G", notes)[1] == says


def test_a_note_that_leans_on_the_beat_is_a_tension_with_its_way_out():
    leaning = line((67, "1"), (72, "2"), (71, "1"))
    assert over("G", leaning)[1] == "tension, down to the 3rd"


def test_the_fourth_on_the_beat_leans_on_the_third_and_off_the_beat_leads_into_it():
    """C to B over G, C taken by leap: a tension where it is accented, else an approach."""
    assert over("G", line(67, 72, 71))[1] == "tension, down to the 3rd"
    assert over("G", line((67, "1/2"), (72, "1/2"), (71, "1")))[1] == "half step into the 3rd"


def test_two_notes_from_both_sides_enclose_the_chord_tone_after_them():
    assert over("G", line(74, 72, 70, 71, length="1/2"))[1:3] == ["enclosure of the 3rd"] * 2


def test_without_a_chord_told_the_scale_is_no_tension():
    assert over(None, line(67, 64, 67)) == ["chord tone", "scale tone", "chord tone"]
    assert over(None, line(67, 69, 71)) == ["chord tone", "passing tone", "chord tone"]


def test_a_curl_is_a_blue_note():
    from dataclasses import replace

    one = line(60)
    assert over("Am", (replace(one[0], curled=True),), key_from_text("A minor")) == ["blue note"]


def test_the_sixth_of_a_minor_key_may_be_major_or_minor():
    minor = key_from_text("A minor")
    assert over(None, line(69, 66, 60), minor)[1] == "scale tone"
    assert over(None, line(69, 65, 60), minor)[1] == "scale tone"
    assert over(None, line(69, 70, 76), minor)[1] == "outside tone"


def test_a_whole_step_up_into_the_next_chord_resolves_nothing():
    """G over D, then A over A: the fourth leaves, the voice goes on."""
    moving = line(74, 67, 69)
    under = {"n1": "D", "n2": "D", "n3": "A"}
    told = tones(moving, lambda note: chord_from_text(under[note.id]), key_from_text("D"))
    assert told["n2"] == "tension"
    same = tones(moving, lambda note: chord_from_text("D"), key_from_text("D"))
    assert same["n2"].startswith("tension, up")
