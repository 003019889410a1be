import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.errors import SettingsError
from transcribe.harmony.names import degree_text, fifths_of, name_at, pitch_class, readable, steps_from

SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
places = st.integers(-15, 19)


@given(places)
def test_a_name_comes_back_and_sounds_as_its_letter_and_signs_say(place):
    name = name_at(place)
    assert fifths_of(name) == place
    assert pitch_class(place) == (SEMITONES[name[0]] + name.count("#") - name.count("b")) % 12


@given(places)
def test_a_readable_name_sounds_the_same_with_one_sign_at_the_most(place):
    assert pitch_class(readable(place)) == pitch_class(place)
    assert len(name_at(readable(place))) <= 2


@pytest.mark.parametrize("name", ["H", "c", "F###", ""])
def test_what_is_no_name_is_refused(name):
    with pytest.raises(SettingsError, match="no such note"):
        fifths_of(name)


def test_the_degrees_of_a_chromatic_line_in_a():
    degrees = [degree_text(steps_from(fifths_of("A"), 57 + step)) for step in range(12)]
    assert degrees == ["1", "b2", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7"]


def test_the_note_between_4_and_5_is_named_by_where_it_goes():
    tonic = fifths_of("A")
    assert degree_text(steps_from(tonic, 63, 64)) == "#4"
    assert degree_text(steps_from(tonic, 63, 62)) == "b5"
    assert degree_text(steps_from(tonic, 63, 60, blues=True)) == "b5"
    assert degree_text(steps_from(tonic, 63, 64, blues=True)) == "#4"
