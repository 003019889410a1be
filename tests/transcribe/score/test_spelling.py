"""Names of pitches against the circle of fifths and the scales every handbook prints (common practice)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.harmony.key import MAJOR_FIFTHS, MINOR_FIFTHS, Key, key_from_text
from transcribe.score.spelling import STEP_SEMITONES, name_text, plainest_fifths, spell

MAJOR_SCALES = {
    "C": "C D E F G A B",
    "G": "G A B C D E F#",
    "D": "D E F# G A B C#",
    "A": "A B C# D E F# G#",
    "E": "E F# G# A B C# D#",
    "B": "B C# D# E F# G# A#",
    "F#": "F# G# A# B C# D# E#",
    "C#": "C# D# E# F# G# A# B#",
    "F": "F G A Bb C D E",
    "Bb": "Bb C D Eb F G A",
    "Eb": "Eb F G Ab Bb C D",
    "Ab": "Ab Bb C Db Eb F G",
    "Db": "Db Eb F Gb Ab Bb C",
    "Gb": "Gb Ab Bb Cb Db Eb F",
    "Cb": "Cb Db Eb Fb Gb Ab Bb",
}
STEPS = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}


def tonic_midi(tonic):
    return 60 + STEP_SEMITONES[tonic[0]] + tonic.count("#") - tonic.count("b")


def names(midis, key=None):
    return " ".join(name_text(spelled) for spelled in spell(midis, key))


@pytest.mark.parametrize("tonic", sorted(MAJOR_SCALES))
def test_major_scales(tonic):
    midis = [tonic_midi(tonic) + step for step in STEPS["major"]]
    assert names(midis, Key(tonic, "major")) == MAJOR_SCALES[tonic]


@pytest.mark.parametrize("tonic", sorted(MINOR_FIFTHS))
def test_a_natural_minor_scale_has_the_notes_of_its_relative_major(tonic):
    relative = next(major for major, fifths in MAJOR_FIFTHS.items() if fifths == MINOR_FIFTHS[tonic])
    midis = [tonic_midi(tonic) + step for step in STEPS["minor"]]
    assert sorted(names(midis, Key(tonic, "minor")).split()) == sorted(MAJOR_SCALES[relative].split())


@pytest.mark.parametrize(
    ("key", "steps", "written"),
    [
        ("A major", (0, 3, 5, 6, 7, 10), "A C D D# E G"),  # blues notes in a major key: b3 and b7 are flats
        ("A major", (7, 6, 5, 3, 0), "E Eb D C A"),  # falling, the note between 5 and 4 is b5
        ("C major", (0, 3, 4), "C Eb E"),  # the blues curl of the third
        ("C major", (0, 1, 2), "C C# D"),  # rising by semitones
        ("C major", (2, 1, 0), "D Db C"),  # falling
        ("A minor", (0, 11, 0), "A G# A"),  # leading note
        ("E minor", (0, 3, 5, 6, 7, 10), "E G A A# B D"),
        ("G minor", (0, 3, 7, 10), "G Bb D F"),
    ],
)
def test_notes_outside_the_scale(key, steps, written):
    key = key_from_text(key)
    assert names([tonic_midi(key.tonic) + step for step in steps], key) == written


@pytest.mark.parametrize(
    ("midis", "written"),
    [
        ((60, 62, 64, 65, 67), "C D E F G"),
        ((62, 66, 69), "D F# A"),
        ((58, 62, 65), "Bb D F"),
        ((63, 67, 70, 68), "Eb G Bb Ab"),
        ((64, 68, 71), "E G# B"),
    ],
)
def test_without_a_key_the_fewest_accidentals(midis, written):
    assert names(midis) == written


def test_a_signature_that_fits_wins():
    assert plainest_fifths([60, 62, 64]) == 0
    assert plainest_fifths([66, 61, 62, 64]) == 2
    assert plainest_fifths([70, 63, 65]) == -2


def test_octaves_count_from_c_as_it_is_written():
    key = Key("Cb", "major")
    (c_flat,) = spell([71], key)  # sounds as B4, written above it
    assert (c_flat.step, c_flat.alter, c_flat.octave) == ("C", -1, 5)
    (b_sharp,) = spell([60], Key("C#", "major"))
    assert (b_sharp.step, b_sharp.alter, b_sharp.octave) == ("B", 1, 3)


keys = st.one_of(
    st.sampled_from(sorted(MAJOR_FIFTHS)).map(lambda tonic: Key(tonic, "major")),
    st.sampled_from(sorted(MINOR_FIFTHS)).map(lambda tonic: Key(tonic, "minor")),
)


@given(st.lists(st.integers(28, 96), min_size=1, max_size=12), st.none() | keys)
def test_every_name_sounds_as_its_pitch_with_one_accidental_at_most(midis, key):
    for midi, spelled in zip(midis, spell(midis, key), strict=True):
        assert 12 * (spelled.octave + 1) + STEP_SEMITONES[spelled.step] + spelled.alter == midi
        assert spelled.alter in (-1, 0, 1)


@given(st.lists(st.integers(40, 80), min_size=1, max_size=12), st.integers(-2, 2), keys)
def test_octaves_change_no_letter(midis, octaves, key):
    assert names(midis, key) == names([midi + 12 * octaves for midi in midis], key)


def test_no_notes_no_names():
    assert spell([]) == ()
