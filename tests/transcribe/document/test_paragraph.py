"""The paragraph says what the document holds, in a teacher's words, and nothing more."""

from dataclasses import replace
from fractions import Fraction

import pytest

from fingering.solution import ShapeSpan
from transcribe.document.analyse import analyse
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.document.paragraph import paragraph
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key, key_from_text
from transcribe.notes.note import Bend, Note, Slide, Vibrato
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing

A_MINOR = key_from_text("A minor")


def lick(*notes, meter="4/4", **more):
    """One note a quarter; each a pitch, or a pitch and what is played with it."""
    beats = {"4/4": 4, "3/4": 3}[meter]
    takes = []
    for place, told in enumerate(notes):
        pitch, gestures = told if isinstance(told, tuple) else (told, {})
        note = Note(f"n{place + 1}", place * 0.5, (place + 1) * 0.5, pitch, **gestures)
        takes.append(TakeNote(note, timing=Timing(place // beats + 1, Fraction(place % beats), Fraction(1))))
    rhythm = Rhythm(120.0, Meter(beats, 4), 0.0)
    return analyse(TakeDocument(tuple(takes), rhythm=rhythm, key=more.pop("key", A_MINOR), **more))


def bend(cents, start_s):
    return {"bends": (Bend("bend", start_s + 0.05, start_s + 0.2, start_s + 0.5, cents, cents),)}


def test_length_key_and_scale():
    assert lick(69, 72, 74, 76, 79, 76, 74, 69).about.startswith(
        "Two bars in A minor, on the notes of the minor pentatonic."
    )
    assert lick(69, 72, 76, meter="3/4").about.startswith("One bar of 3/4 in A minor.")


def test_an_estimate_says_so():
    assert "what sounds like" in lick(60, 62, 64, 65, 67, 69, 71, 72, key=None).about


def test_a_bend_is_told_from_where_to_where():
    told = lick(69, (74, bend(200.0, 0.5)), 72, 69).about
    assert "One bend: the 4th goes up a whole step to the 5th." in told


def test_a_bend_that_comes_again_is_counted():
    told = lick(69, (74, bend(200.0, 0.5)), 72, (74, bend(200.0, 1.5)), 69).about
    assert "Two bends: the 4th goes up a whole step to the 5th (twice)." in told


def test_a_note_bent_twice_is_two_bends():
    """Up, down to the fret and up again on one pick: the sheet shows two arrows."""
    bends = tuple(
        Bend(kind, at, at + 0.05, at + 0.1, cents, cents)
        for kind, at, cents in (("bend", 0.55, 200.0), ("release", 0.65, 0.0), ("bend", 0.75, 100.0))
    )
    told = lick(69, (74, {"bends": bends}), 69).about
    assert "Two bends: the 4th goes up a whole step to the 5th and the 4th goes up a half step to the flat 5th." in told


def test_a_curl_is_no_bend_to_a_pitch():
    told = lick(69, (72, bend(50.0, 0.5)), 69).about
    assert "A quarter-tone curl on the minor 3rd." in told
    assert "One bend" not in told


@pytest.mark.parametrize(
    ("gesture", "words"),
    [
        ({"slide": Slide("out", -200.0)}, "one slide"),
        ({"attack": "hammer-on"}, "one hammer-on"),
        ({"mute": "palm"}, "one palm-muted note"),
        ({"harmonic": "natural"}, "one natural harmonic"),
        ({"vibrato": Vibrato(5.0, 20.0)}, "vibrato on one note"),
    ],
)
def test_techniques_are_counted(gesture, words):
    assert words in lick(69, (72, gesture), 69).about
    assert words not in lick(69, 72, 69).about


def test_the_shape_comes_from_the_fingering():
    shape = ShapeSpan("n1", "n3", "E-shape minor pentatonic", 5)
    assert "It lies in the E-shape minor pentatonic at the 5th fret." in lick(69, 72, 69, shapes=(shape,)).about


@pytest.mark.parametrize(
    ("fret", "told"),
    [
        (0, "the minor triad in root position on strings 4-3-2, with open strings."),
        (7, "the minor triad in root position on strings 4-3-2 at the 7th fret."),
    ],
)
def test_a_triad_is_told_by_its_strings(fret, told):
    shape = ShapeSpan("n1", "n3", "minor triad in root position on strings 4-3-2", fret)
    assert f"It lies in {told}" in lick(69, 72, 76, shapes=(shape,)).about


def test_half_steps_and_enclosures():
    told = lick(67, 70, 71, 72, 70, 71, 67, key=key_from_text("G")).about
    assert "half step leads into the 3rd" in told
    assert "the 3rd is enclosed from both sides" in told


def test_chords_told_are_those_under_it():
    chords = (ChordSpan(Fraction(0), Fraction(4), "D7"), ChordSpan(Fraction(4), Fraction(8), "G"))
    told = lick(66, 69, 72, 69, 67, 71, 74, 67, key=key_from_text("G"), chords=chords).about
    assert "The chords under it are D7 and G. It closes with a perfect authentic cadence." in told


def test_a_chord_that_comes_and_goes_is_not_called_the_lick():
    chords = (ChordSpan(Fraction(0), Fraction(2), "C", role="III", source="heard"),)
    document = replace(lick(69, 72, 74, 76, 74, 72, 69, 67), chords=chords)
    assert "On the way its notes spell C (III)." in paragraph(document)


def test_the_end_is_named():
    assert lick(69, 72, 76).about.endswith("It ends on the 5th.")


def test_vibrato_on_the_last_note_alone_is_told_once():
    told = lick(69, 72, (76, {"vibrato": Vibrato(5.0, 20.0)})).about
    assert told.count("vibrato") == 1
    assert told.endswith("It ends on the 5th, with vibrato.")


def test_a_scale_may_be_told_by_where_a_bend_starts():
    """C goes up to D, and no other C sounds: still the minor pentatonic."""
    told = lick(69, (72, bend(200.0, 0.5)), 76, 79, 74, 69).about
    assert "on the notes of the minor pentatonic" in told


def test_a_scale_that_two_names_fit_has_none():
    """A B C D E G: dorian and natural minor differ in the sixth, which nobody plays."""
    assert "on the notes" not in lick(69, 71, 72, 74, 76, 79, 76, 69).about
    assert "natural minor scale" in lick(69, 71, 72, 74, 76, 77, 79, 69).about


def test_an_unsure_key_names_the_next_one():
    key = Key("A", "minor", 0.5, "estimated", runner_up="C major")
    assert "in what sounds like A minor (it may be C major)" in paragraph(replace(lick(69, 72, 76), key=key))
    sure = replace(key, confidence=0.95)
    assert "it may be" not in paragraph(replace(lick(69, 72, 76), key=sure))


@pytest.mark.parametrize(
    ("shape", "told"),
    [
        ("E-shape minor pentatonic", True),
        ("D-shape major scale", False),  # of G: nobody hears it in A minor
        ("D-shape", False),  # a chord of G that nobody plays
    ],
)
def test_a_shape_of_another_root_is_not_told(shape, told):
    about = lick(69, 72, 69, shapes=(ShapeSpan("n1", "n3", shape, 5),)).about
    assert ("-shape" in about) == told


def test_a_shape_of_the_relative_key_is_named_by_the_key():
    about = lick(69, 72, 69, shapes=(ShapeSpan("n1", "n3", "D-shape major scale", 10),)).about
    assert "C-shape minor scale at the 9th fret" in about


def test_a_chord_over_another_tells_what_it_adds():
    """C over a vamp on G: the fourth and the sixth of G are new (common practice)."""
    chords = (ChordSpan(Fraction(0), Fraction(4), "C", role="IV over I", source="heard", backing="G"),)
    document = replace(lick(67, 72, 76, 71, key=key_from_text("G")), vamp="G", chords=chords)
    told = paragraph(document)
    assert "The backing stays on G. The notes spell C over G (IV over I), which adds the 4th and 6th." in told


def test_cadences_on_the_way_are_told_by_bar():
    chords = tuple(
        ChordSpan(Fraction(4 * k), Fraction(4 * k + 4), symbol) for k, symbol in enumerate(("G", "D", "D7", "G"))
    )
    notes = [67, 71, 74, 71, 69, 66, 62, 66, 66, 69, 72, 69, 67, 71, 74, 67]
    document = lick(*notes, key=key_from_text("G"), chords=chords)
    assert document.chords[-1].cadence == "perfect authentic"
    first, second, *others = document.chords
    told = paragraph(replace(document, chords=(first, replace(second, cadence="half"), *others)))
    assert "Bar 2 closes with a half cadence; it closes with a perfect authentic cadence." in told


def test_no_notes_are_no_words():
    assert paragraph(TakeDocument(())) is None
