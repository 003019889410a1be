import pytest

from transcribe.errors import SettingsError
from transcribe.harmony.key import MAJOR_FIFTHS, MINOR_FIFTHS, Key, key_from_text

SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def pitch_class(name: str) -> int:
    return (SEMITONES[name[0]] + name.count("#") - name.count("b")) % 12


@pytest.mark.parametrize(
    ("text", "tonic", "mode"),
    [
        ("A", "A", "major"),
        ("a minor", "A", "minor"),
        ("F#m", "F#", "minor"),
        ("Bb", "Bb", "major"),
        ("b", "B", "major"),
        ("b minor", "B", "minor"),
        ("E flat major", "Eb", "major"),
        ("Bbm", "Bb", "minor"),
        ("AM", "A", "major"),
    ],
)
def test_a_key_is_read_as_people_write_it(text, tonic, mode):
    assert (key_from_text(text).tonic, key_from_text(text).mode) == (tonic, mode)


@pytest.mark.parametrize("text", ["", "H", "A lydian", "Fb", "440"])
def test_what_is_no_key_is_refused_with_how_to_write_one(text):
    with pytest.raises(SettingsError, match="no such key"):
        key_from_text(text)


def test_each_fifth_up_adds_one_sharp():
    """The circle of fifths (common practice): seven semitones up, one sharp more."""
    for table in (MAJOR_FIFTHS, MINOR_FIFTHS):
        for tonic, fifths in table.items():
            above = [name for name, count in table.items() if count == fifths + 1]
            assert not above or pitch_class(above[0]) == (pitch_class(tonic) + 7) % 12


def test_a_minor_key_shares_the_signature_of_the_major_key_three_semitones_up():
    for tonic in MINOR_FIFTHS:
        relative = Key(tonic, "minor").fifths
        major = next(name for name, count in MAJOR_FIFTHS.items() if count == relative)
        assert pitch_class(major) == (pitch_class(tonic) + 3) % 12
