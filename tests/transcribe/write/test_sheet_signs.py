"""The legend explains every sign of the music it stands under, and none that is not there."""

from dataclasses import replace
from fractions import Fraction
from xml.etree import ElementTree

import pytest

from fingering.passage import Placement
from tests.golden.licks import LICKS, Page, bends, doubted, riff, slides
from transcribe.harmony.key import Key
from transcribe.score.build import build_score
from transcribe.score.score import ChordMark
from transcribe.write.engraver.options import EXTRA_LINES, EngraveOptions
from transcribe.write.engraver.system import INK
from transcribe.write.sheet_signs import sign_entries

ALL = EngraveOptions(extra_lines=frozenset(EXTRA_LINES))


def meanings(score, options=ALL):
    return [entry.words for entry in sign_entries(score, options)]


def starts(score, options=ALL):
    return {words.split(":")[0].split(",")[0] for words in meanings(score, options)}


@pytest.mark.parametrize(
    ("lick", "told"),
    [
        (
            bends(),
            {
                "hammer-on or pull-off",
                "bend by this much",
                "bend first",
                "let the bend down",
                "vibrato",
                "small note",
                "in brackets",
            },
        ),
        (slides(), {"hammer-on or pull-off", "slide", "slide in from", "vibrato"}),
        (riff(), {"palm mute", "dead note", "vibrato"}),
        (doubted(), {"let the notes sound on", "natural harmonic", "heard"}),
        (Page().document(), set()),
    ],
    ids=["bends", "slides", "riff", "doubted", "empty"],
)
def test_what_is_used_is_told_and_nothing_else(lick, told):
    assert starts(build_score(lick)) == told


def test_both_slides_are_told_apart():
    words = meanings(build_score(slides()))
    assert {"slide, the second note not picked", "slide, then pick again"} <= set(words)


def test_a_curl_is_explained_only_where_there_is_one():
    plain = Page()
    plain.note("1", 3, 7, pushes=(("bend", 200),))
    assert any("¼ a curl" in words for words in meanings(build_score(bends())))
    assert not any("curl" in words for words in meanings(build_score(plain.document())))


def test_notation_alone_explains_its_own_bends_and_tab_alone_its_own():
    on_notation = starts(build_score(bends()), EngraveOptions(staves="notation"))
    assert on_notation >= {"small note", "in brackets", "push the string up a little"}
    assert not on_notation & {"bend by this much", "bend first", "let the bend down"}
    assert not starts(build_score(bends()), EngraveOptions(staves="tab")) & {"small note", "in brackets"}


def dressed(stroke="down"):
    page = Page()
    page.note("1", 3, 7)
    (take,) = page.notes
    page.notes = [replace(take, placement=Placement("n1", 3, 7, 3, stroke), degree="4", tone="passing tone")]
    score = build_score(page.document(key=Key("Bb", "major")))
    return replace(score, chords=(ChordMark(1, Fraction(0), "Eb", "IV", cadence="plagal"),))


@pytest.mark.parametrize(
    ("line", "meaning"),
    [
        ("fingers", "fingers"),
        ("positions", "position"),
        ("strokes", "pick down"),
        ("degrees", "degree of the scale"),
        ("tones", "what the note does"),
        ("chords", "place of the chord in the key"),
        ("chords", "cadence"),
    ],
)
def test_a_line_of_text_is_explained_where_it_is_shown(line, meaning):
    assert meaning in starts(dressed(), EngraveOptions(extra_lines=frozenset({line})))
    assert meaning not in starts(dressed(), EngraveOptions(extra_lines=frozenset(EXTRA_LINES) - {line}))


def test_degrees_name_the_note_they_count_from():
    assert "degree of the scale, counted from B♭" in meanings(dressed())


def test_fingers_that_pluck_are_explained_by_their_letters():
    assert "thumb, index, middle and ring finger pluck" in meanings(dressed("m"))


@pytest.mark.parametrize("name", LICKS)
def test_pictures_are_drawn_inside_their_frame_in_the_themes_ink(name):
    for entry in sign_entries(build_score(LICKS[name][0]), ALL):
        picture = ElementTree.fromstring(entry.body)
        assert 0 < entry.width < 60
        assert 0 < entry.height < 45
        assert len(picture)
        assert INK in entry.body


def test_signs_are_shown_on_the_staff_that_is_shown():
    score = build_score(bends())
    numbers = [entry.body.count(">7<") for entry in sign_entries(score, EngraveOptions(staves="tab"))]
    heads = [entry.body.count(">7<") for entry in sign_entries(score, EngraveOptions(staves="notation"))]
    assert sum(numbers) >= 3
    assert sum(heads) == 0
