from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.harmony_lines import line
from transcribe.harmony.chord import Chord, chord_from_text
from transcribe.harmony.groups import groups_of
from transcribe.harmony.heard_chords import heard_chords
from transcribe.harmony.key import Key, key_from_text
from transcribe.harmony.sounding import Sounded

G, C = key_from_text("G"), key_from_text("C")


def names(notes, key, backing=None):
    groups = groups_of(notes)
    return [str(heard.chord) for heard in heard_chords(groups, key, [backing] * len(groups) if backing else ())]


def test_thirds_up_the_scale_are_the_chords_players_call_them():
    """Thirds in G on the primary chords, a third of ii between them (common practice of harmonised thirds)."""
    thirds = line((67, 71), (69, 72), (71, 74), (72, 76), (74, 78))
    assert names(thirds, G) == ["G", "Am", "G", "C", "D"]


def test_passing_sixths_between_two_forms_of_a_chord_stay_within_it():
    sixths = line(((59, 67), "1/2"), ((60, 69), "1/2"), ((62, 71), "1/2"), ((60, 69), "1/2"), ((59, 67), "2"))
    assert names(sixths, G) == ["G"]


def test_the_same_third_long_enough_is_a_chord():
    assert names(line(((67, 71), "2"), ((72, 76), "2"), ((67, 71), "2")), G) == ["G", "C", "G"]


def test_over_a_vamp_what_fits_its_chord_is_that_chord():
    assert names(line((62, 65), (59, 62)), G, Chord("G")) == ["G7", "G"]
    assert names(line((64, 67)), G, Chord("E", "m")) == ["Em"]


def test_a_fifth_with_the_sixth_of_the_vamp_colours_it():
    """B and E over G: the third and the sixth, no E minor."""
    assert names(line((59, 62), (59, 64), (59, 62)), G, Chord("G")) == ["G"]
    assert names(line(((59, 62), "2"), ((67, 72), "2"), ((59, 62), "2")), G, Chord("G")) == ["G", "C5", "G"]


def test_a_fifth_is_a_power_chord_unless_a_neighbour_tells_the_third():
    assert names(line((40, 47), (43, 50)), key_from_text("E minor")) == ["E5", "G5"]
    assert names(line((60, 67), (64, 67)), C) == ["C"]


def test_a_tritone_is_the_heart_of_the_dominant_of_the_key():
    assert names(line((59, 65)), C) == ["G7"]


def test_inversions_by_the_bass_of_three_tones():
    assert names(line((60, 64, 67), (64, 67, 72), (67, 72, 76)), C) == ["C", "C/E", "C/G"]


def test_a_second_alone_spells_no_chord():
    assert names(line((60, 62)), C) == []


def test_no_groups_are_no_chords():
    assert heard_chords((), C) == ()


@given(
    st.sampled_from(["", "m", "dim", "7", "maj7", "m7", "m7b5", "sus4"]),
    st.sampled_from(["C", "D", "E", "F", "G", "A", "B"]),
)
def test_every_chord_struck_in_root_position_is_heard_by_name(kind, root):
    """In the key of its own root, so that spelling follows; by pitch class where several names fit (sus, dim)."""
    chord = Chord(root, kind)
    low = 48 + chord.pitch_classes[0]
    pitches = tuple(low + (tone - chord.pitch_classes[0]) % 12 for tone in chord.pitch_classes)
    (heard,) = heard_chords(groups_of(line((pitches, "2"))), Key(root, "major" if kind != "m" else "minor"))
    assert set(heard.chord.pitch_classes) == set(chord.pitch_classes)
    assert heard.chord.root == root


@pytest.mark.parametrize("gap", [Fraction(2), Fraction(4)])
def test_one_chord_again_after_a_long_gap_is_told_again(gap):
    notes = (*line((60, 64)), *(later(note, 1 + gap) for note in line((60, 64))))
    assert names(notes, C) == ["C"] * (2 if gap >= 4 else 1)


def later(note, quarters):
    from dataclasses import replace

    start = note.start + quarters
    return replace(note, id=note.id + "b", start=start, held_until=start + note.length)


def test_chords_do_not_overlap():
    ringing = heard_chords(groups_of(line((60, 64, 67), (65, 69, 72))), C)
    assert [(heard.start, heard.end) for heard in ringing] == [(0, 1), (1, 2)]


def test_symbols_are_spelled_in_the_key():
    assert names(line((58, 62, 65)), C) == ["Bb"]
    assert names(line((54, 58, 61)), key_from_text("B")) == ["F#"]
    assert chord_from_text("F#").pitch_classes == (6, 10, 1)


def test_a_fourth_that_falls_to_the_third_is_no_chord_of_its_own():
    suspended = line(((55, 62, 67, 72), "1"), ((55, 62, 67, 71), "1"), ((48, 55, 64, 72), "2"))
    assert names(suspended, C) == ["G", "C"]


def test_a_fourth_that_stays_is_a_chord():
    assert names(line(((55, 62, 67, 72), "2"), ((48, 55, 64, 72), "2")), C) == ["Gsus4", "C"]


def test_a_ninth_in_passing_belongs_to_the_line():
    passing = line(((48, 55, 64), "1"), ((48, 55, 62, 64), "1/2"), ((48, 55, 60, 64), "1/2"))
    assert names(passing, C) == ["C"]


def test_struck_triads_change_where_thirds_would_pass():
    triads = line(((60, 64, 67), "1/2"), ((62, 65, 69), "1/2"), ((64, 67, 72), "1/2"), ((62, 65, 69), "1/2"))
    thirds = line(((60, 64), "1/2"), ((62, 65), "1/2"), ((64, 67), "1/2"), ((62, 65), "1/2"))
    assert names(triads, C) == ["C", "Dm", "C/E", "Dm"]
    assert names(thirds, C) == ["C"]


def test_a_chord_played_note_by_note_and_left_to_ring_is_one_chord():
    """B, then G and B, D over them, at last a low E: E minor with its seventh, whatever happens to lie lowest."""
    tones = ((59, 0), (67, 1), (74, 2), (52, 3))
    ringing = tuple(
        Sounded(f"n{at}", pitch, pitch, Fraction(at), Fraction(1), Fraction(6), 0.75) for pitch, at in tones
    )
    found = names(ringing, key_from_text("Em"))
    assert len({one.split("/")[0] for one in found}) == len(found)


def test_a_bass_that_is_struck_anew_under_the_same_chord_is_told():
    moving = (*line(((60, 64, 67), "2")), Sounded("b", 52, 52, Fraction(2), Fraction(2), Fraction(4), 0.75))
    held = tuple(Sounded(n.id, n.pitch, n.pitch, n.start, n.length, Fraction(4), n.weight) for n in moving)
    assert names(held, C) == ["C", "C/E"]
