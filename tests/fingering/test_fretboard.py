import pytest

from fingering import Fretboard, TuningError, tuning_from_text, tuning_name


def test_standard_tuning_lists_the_highest_string_first():
    assert tuning_from_text("standard") == (64, 59, 55, 50, 45, 40)


@pytest.mark.parametrize(
    ("text", "open_midi"),
    [
        ("drop D", (64, 59, 55, 50, 45, 38)),
        ("open G", (62, 59, 55, 50, 43, 38)),
        ("half a step down", (63, 58, 54, 49, 44, 39)),
        ("E A D G B E", (64, 59, 55, 50, 45, 40)),
        ("EADGBE", (64, 59, 55, 50, 45, 40)),
        ("e a d g b e", (64, 59, 55, 50, 45, 40)),
        ("D2 A2 D3 G3 B3 E4", (64, 59, 55, 50, 45, 38)),
        ("Eb-Ab-Db-Gb-Bb-Eb", (63, 58, 54, 49, 44, 39)),
        ("E2 A2 D3 G3", (55, 50, 45, 40)),
        ("C G C F A D", (62, 57, 53, 48, 43, 36)),
    ],
)
def test_a_tuning_is_read_from_its_name_or_notes(text, open_midi):
    assert tuning_from_text(text) == open_midi


@pytest.mark.parametrize("text", ["", "banjo", "E A D", "E A D G B H", "E A D G"])
def test_an_unknown_tuning_says_what_to_do(text):
    with pytest.raises(TuningError, match="is not one I know") as caught:
        tuning_from_text(text)
    assert "drop D" in caught.value.mend


def test_a_tuning_is_named_or_spelled():
    assert tuning_name((62, 59, 55, 50, 43, 38)) == "open G"
    assert tuning_name((64, 59, 55, 50, 45, 36)) == "C2 A2 D3 G3 B3 E4"


def test_every_place_of_a_pitch_and_none_beyond_the_last_fret():
    places = [(p.string, p.fret) for p in Fretboard(frets=22).places(64)]
    assert places == [(1, 0), (2, 5), (3, 9), (4, 14), (5, 19)]
    assert Fretboard().places(39) == ()
    assert Fretboard(frets=12).places(77) == ()


def test_with_a_capo_frets_count_from_it_and_the_neck_is_shorter():
    neck = Fretboard(capo=3, frets=20)
    assert [(p.string, p.fret) for p in neck.places(67)] == [(1, 0), (2, 5), (3, 9), (4, 14)]
    assert neck.midi_at(6, 0) == 43
    assert neck.last_fret == 17


def test_a_natural_harmonic_lies_only_where_its_node_is():
    octave = Fretboard().harmonic_places(64 + 12)
    assert (1, 12) in {(p.string, p.fret) for p in octave}
    fifths = {(p.string, p.fret) for p in Fretboard().harmonic_places(40 + 19)}
    assert {(6, 7), (6, 19)} <= fifths
    assert Fretboard().harmonic_places(41) == ()


@pytest.mark.parametrize(
    "wrong", [{"capo": 22}, {"capo": -1}, {"frets": 0}, {"open_midi": ()}, {"scale_length_mm": 20.0}]
)
def test_a_neck_nobody_could_play_is_refused(wrong):
    with pytest.raises(TuningError):
        Fretboard(**wrong)
