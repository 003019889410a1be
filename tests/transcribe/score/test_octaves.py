"""Which passages are written an octave lower under 8va."""

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.engraver_boxes import collisions
from tests.engraver_licks import FingeredPage
from tests.golden.licks import Page
from transcribe.score.build import build_score
from transcribe.score.octaves import OctaveStretch, octave_stretches
from transcribe.write.engraver.engrave import engrave
from transcribe.write.engraver.options import EngraveOptions
from transcribe.write.engraver.plan import plan_bars
from transcribe.write.musicxml import musicxml_bytes


def on_the_top_string(*frets, value="1"):
    page = Page(bpm=90.0)
    for fret in frets:
        page.note(value, 1, fret)
    return build_score(page.document())


def stretches(score):
    return [(stretch.start, stretch.end) for stretch in octave_stretches(score.bars)]


def test_the_twelfth_fret_has_three_ledger_lines_and_is_written_where_it_is():
    assert stretches(on_the_top_string(12, 15, 14, 12)) == []


def test_what_needs_five_ledger_lines_is_written_lower_and_its_high_neighbours_with_it():
    """Fret 19 of the top string is B6 as written: the fifth line; fret 7 is B5, fret 12 is E6, the third."""
    score = on_the_top_string(7, 12, 19, 8, 12, 7, 3, 3)
    assert stretches(score) == [((0, Fraction(1)), (1, Fraction(0)))]


def test_a_low_note_ends_the_stretch():
    score = on_the_top_string(19, 3, 19, 3)
    assert stretches(score) == [((0, Fraction(0)), (0, Fraction(0))), ((0, Fraction(2)), (0, Fraction(2)))]


def test_a_bend_counts_as_high_as_it_goes():
    page = Page(bpm=90.0)
    page.note("1", 1, 17, pushes=(("bend", 200),))
    assert len(octave_stretches(build_score(page.document()).bars)) == 1


def test_no_tie_begins_under_the_line_and_ends_outside():
    page = FingeredPage(bpm=90.0)
    page.play("2", 2, 12, 1)
    high = page.play("1", 1, 20, 3)
    page.hold(high, "4")
    page.at += Fraction(3)
    page.play("1", 1, 3, 1)
    score = build_score(page.document())
    (found,) = octave_stretches(score.bars)
    for index, bar in enumerate(score.bars):
        for voice in bar.voices:
            for event in voice:
                for head in event.notes:
                    if head.take.id == high:
                        assert found.holds(index, event.beat)


@pytest.mark.parametrize("width", [1030.0, 300.0])
def test_heads_under_the_line_stand_an_octave_lower_and_nothing_collides(width):
    score = on_the_top_string(19, 20, 17, 19, 20, 22, 19, 17, value="1/2")
    lines = [
        head.line for plan in plan_bars(score) for slot in plan.slots for cell in slot.cells for head in cell.heads
    ]
    assert lines[0] == 14 - 7  # B6 is 14 steps over the middle line, under 8va 7
    systems = engrave(score, EngraveOptions(width=width))
    words = [[box.words for box in system.boxes if box.words and "8va" in box.words] for system in systems]
    assert words == [["8va"], *([["(8va)"]] * (len(systems) - 1))]
    assert not any(collisions(system) for system in systems)


def test_an_accidental_is_told_again_where_another_octave_stands_on_its_line():
    """E flat under 8va and the E an octave below it, outside, share a space of the staff: the E needs its natural."""
    score = on_the_top_string(23, 3, 12, 3)
    signs = [
        head.sign for plan in plan_bars(score) for slot in plan.slots for cell in slot.cells for head in cell.heads
    ]
    assert signs == ["b", None, "n", None]


def test_musicxml_tells_the_octave_line_and_leaves_pitches_as_they_sound():
    """MusicXML 4.0, octave-shift: type down where notes are shown lower than they are."""
    from lxml import etree

    score = on_the_top_string(3, 19, 20, 3)
    root = etree.fromstring(musicxml_bytes(score))
    inside = [item.tag if item.tag != "direction" else item.find(".//octave-shift").get("type")
              for item in root.find("part/measure") if item.find("staff") is not None and item.findtext("staff") == "1"
              and (item.tag == "note" or item.find(".//octave-shift") is not None)]  # fmt: skip
    assert inside == ["note", "down", "note", "note", "stop", "note"]
    assert [item.text for item in root.iterfind("part/measure/note[staff='1']/pitch/octave")] == ["4", "5", "6", "4"]


def test_a_stretch_holds_what_starts_within_it():
    stretch = OctaveStretch((0, Fraction(2)), (1, Fraction(1)))
    assert not stretch.holds(0, Fraction(1))
    assert stretch.holds(0, Fraction(7, 2))
    assert stretch.holds(1, Fraction(1))
    assert not stretch.holds(1, Fraction(3, 2))
    assert replace(stretch, end=(0, Fraction(3))).holds(0, Fraction(3))
