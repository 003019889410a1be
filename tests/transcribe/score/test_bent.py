"""Bends as written pitches: named in the key, on the head in which they are made."""

from fractions import Fraction

import pytest

from tests.golden.licks import Page
from transcribe.harmony.key import Key
from transcribe.notes.note import Bend
from transcribe.score.bent import semitones_of
from transcribe.score.build import build_score


def heads(page, key=None):
    score = build_score(page.document(key=key))
    return [head for bar in score.bars for voice in bar.voices for event in voice for head in event.notes]


def name(spelled):
    return None if spelled is None else f"{spelled.step}{'#' * spelled.alter}{'b' * -spelled.alter}{spelled.octave}"


def pitches(head):
    return name(head.spelled), name(head.sounding), [name(bent.spelled) for bent in head.bent]


@pytest.mark.parametrize(
    ("cents", "semitones"), [(200.0, 2), (190.0, 2), (76.0, 1), (50.0, None), (150.0, None), (300.0, 3), (10.0, None)]
)
def test_what_is_near_a_semitone_has_a_pitch(cents, semitones):
    assert semitones_of(Bend("bend", 0.0, 0.1, 0.5, cents, cents)) == semitones


def test_a_bend_arrives_and_comes_back():
    page = Page()
    page.note("2", 3, 7, pushes=(("bend", 200), ("release", 0)))
    assert [pitches(head) for head in heads(page)] == [("D4", None, ["E4", "D4"])]


def test_a_pre_bend_sounds_its_target_from_the_start():
    page = Page()
    page.note("2", 3, 7, pushes=(("pre-bend", 200), ("release", 0)))
    assert [pitches(head) for head in heads(page)] == [("D4", "E4", ["D4"])]


def test_a_curl_has_no_name():
    page = Page()
    page.note("2", 3, 5, pushes=(("bend", 50),))
    assert [pitches(head) for head in heads(page)] == [("C4", None, [None])]


def test_a_held_bend_is_tied_at_the_pitch_it_holds_and_let_down_where_that_is_played():
    """Four quarters from beat 4, raised in the first bar and let down in the second."""
    page = Page()
    page.rest("3")
    page.note("4", 3, 7, pushes=(("bend", 200), ("release", 0)))
    first, second = heads(page)
    assert (first.tied_to, second.tied_from) == (True, True)
    assert pitches(first) == ("D4", None, ["E4"])
    assert pitches(second) == ("D4", "E4", ["D4"])


def test_names_follow_the_key_and_leave_the_fretted_note_its_own():
    """F bent to F sharp in A minor is not E sharp; B flat major bends A to B flat."""
    page = Page()
    page.note("1", 2, 6, pushes=(("bend", 100),))
    assert pitches(heads(page, Key("A", "minor"))[0]) == ("F4", None, ["F#4"])
    page = Page()
    page.note("1", 3, 2, pushes=(("bend", 100),))
    assert pitches(heads(page, Key("Bb", "major"))[0]) == ("A3", None, ["Bb3"])


def test_bends_are_shared_out_whole():
    """Every bend but a pre-bend's silent push stands at one head of its note, however the note is tied."""
    page = Page(pickup="1/2")
    page.note("1/2", 3, 5)
    for value in ("5", "7/2", "1/4"):
        page.note(value, 2, 8, pushes=(("bend", 200), ("release", 0), ("bend", 100)))
        page.note(value, 2, 8, pushes=(("pre-bend", 200), ("release", 0)))
    found = {}
    for head in heads(page):
        found.setdefault(head.take.id, []).extend(bent.bend for bent in head.bent)
    for take in page.notes:
        silent = bool(take.note.bends) and take.note.bends[0].kind == "pre-bend"
        assert tuple(found[take.id]) == take.note.bends[silent:]
    assert Fraction(1, 2) == page.rhythm.pickup_beats
