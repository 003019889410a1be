"""Whole sheets: nothing touches, every note stands where it must, staves line up, the SVG is sound and repeatable."""

from __future__ import annotations

import re
from collections import Counter
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.engraver_boxes import collisions
from tests.engraver_licks import HARD
from tests.golden.licks import LICKS, Page
from tests.strategies_documents import documents
from transcribe.document.model import TakeDocument
from transcribe.score.build import build_score
from transcribe.score.score import Score
from transcribe.write.engraver.engrave import engrave
from transcribe.write.engraver.options import EXTRA_LINES, EngraveOptions, StaffChoice
from transcribe.write.engraver.spacing import QUARTER_GAP
from transcribe.write.engraver.system import SPACE_MM, UNITS_PER_SPACE, Palette, System

DOCUMENTS = {**HARD, **{name: lick for name, (lick, _) in LICKS.items()}}
STAVES: tuple[StaffChoice, ...] = ("both", "notation", "tab")
SVG = "{http://www.w3.org/2000/svg}"


def score_of(name: str) -> Score:
    return build_score(DOCUMENTS[name], title=name)


def parsed(system: System) -> ElementTree.Element:
    return ElementTree.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg">{system.svg()}</svg>')


def heads_of(score: Score) -> Counter[str]:
    return Counter(
        head.take.id for bar in score.bars for voice in bar.voices for event in voice for head in event.notes
    )


@pytest.mark.parametrize("staves", STAVES)
@pytest.mark.parametrize("name", DOCUMENTS)
def test_nothing_touches(name: str, staves: StaffChoice) -> None:
    for width in (1030.0, 520.0):
        options = EngraveOptions(width=width, staves=staves, extra_lines=frozenset(EXTRA_LINES))
        for system in engrave(score_of(name), options):
            assert not collisions(system)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_head_is_drawn_once_and_has_a_place(name: str) -> None:
    score = score_of(name)
    systems = engrave(score, EngraveOptions(staves="notation"))
    drawn = Counter(box.note for system in systems for box in system.boxes if box.kind == "head")
    assert drawn == heads_of(score)
    assert Counter(place.note for system in systems for place in system.places) == heads_of(score)


@pytest.mark.parametrize("staves", STAVES)
@pytest.mark.parametrize("name", DOCUMENTS)
def test_groups_have_titles_and_ids_of_their_own(name: str, staves: StaffChoice) -> None:
    ids: list[str] = []
    for system in engrave(score_of(name), EngraveOptions(staves=staves, id_prefix="p-")):
        for group in parsed(system).iter(f"{SVG}g"):
            if group.get("data-note"):
                title = group.find(f"{SVG}title")
                assert title is not None
                assert title.text
                assert " beat " in title.text
                ids.append(group.attrib["id"])
    assert ids
    assert len(ids) == len(set(ids))
    assert all(name.startswith("p-") for name in ids)


def test_a_title_says_what_a_player_needs() -> None:
    systems = engrave(score_of("high"))
    titles = [element.text or "" for system in systems for element in parsed(system).iter(f"{SVG}title")]
    assert any("string 1 fret 22, finger 4, bend of a full tone" in title for title in titles)
    assert any("doubtful: heard only once" in title for title in titles)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_numbers_stand_under_their_heads_and_bar_lines_join_the_staves(name: str) -> None:
    for system in engrave(score_of(name)):
        (_, top, _), (_, _, bottom) = system.staves
        for box in system.boxes:
            if box.kind == "barline":
                assert box.top == pytest.approx(top)
                assert box.bottom == pytest.approx(bottom)
        places = [(place.note, place.x) for place in system.places]
        for box in system.boxes:
            if box.kind == "fret" and "(" not in (box.words or ""):
                middle = (box.left + box.right) / 2
                assert any(note == box.note and abs(x - middle) < 0.5 for note, x in places)


def test_lines_are_full_and_no_bar_stands_alone() -> None:
    systems = engrave(score_of("long"))
    assert max(system.width for system in systems) - min(system.width for system in systems[:-1]) < 0.5
    assert all(system.last_bar > system.first_bar for system in systems)
    assert [system.first_bar for system in systems[1:]] == [system.last_bar + 1 for system in systems[:-1]]


def test_clef_and_key_on_every_line_the_meter_on_the_first() -> None:
    systems = engrave(score_of("long"))
    for place, system in enumerate(systems):
        kinds = {box.kind for box in system.boxes}
        assert {"clef", "key"} <= kinds
        assert ("time" in kinds) == (place == 0)


def test_the_same_score_gives_the_same_sheet() -> None:
    assert engrave(score_of("triplets")) == engrave(score_of("triplets"))


def test_doubts_are_marked_by_a_shape_and_left_out_at_last() -> None:
    draft, final = (engrave(score_of("doubted"), EngraveOptions(final=end)) for end in (False, True))
    marks = [box for system in draft for box in system.boxes if box.kind == "doubt"]
    assert {box.note for box in marks if box.note} == {"n8", "n9"}
    assert sum(box.words == "?" for box in marks) == 2
    assert not [box for system in final for box in system.boxes if box.kind == "doubt"]


def test_a_theme_colours_everything_and_leaves_no_slot() -> None:
    palette = Palette(ink="#fefefe", rule="#888888", doubt="#ffcc00")
    for system in engrave(score_of("doubted")):
        assert "@" not in system.svg(palette)
        assert "#000000" not in system.svg(palette)
        assert 'fill="white"' not in system.body  # numbers stand in gaps of their strings: any background will do


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(documents(most=3), st.sampled_from(STAVES))
def test_any_document_becomes_a_sheet(document: TakeDocument, staves: StaffChoice) -> None:
    score = build_score(document)
    systems = engrave(score, EngraveOptions(staves=staves))
    for system in systems:
        parsed(system)
        assert system.width <= 1030.0 + 6.0
    if staves == "notation":
        drawn = Counter(box.note for system in systems for box in system.boxes if box.kind == "head")
        assert drawn == heads_of(score)


@pytest.mark.parametrize("staves", STAVES)
def test_no_figure_or_word_is_printed_smaller_than_a_player_reads_from_a_stand(staves: StaffChoice) -> None:
    """A unit is a tenth of a staff space of 1.75 mm; 6 points are common practice as the least for print."""
    points = SPACE_MM / UNITS_PER_SPACE / 25.4 * 72
    row_labels = {"finger", "degree"}
    for name in DOCUMENTS:
        for system in engrave(score_of(name), EngraveOptions(staves=staves, extra_lines=frozenset(EXTRA_LINES))):
            for size, words in re.findall(r'<text[^>]*font-size="([\d.]+)"[^>]*>([^<]*)', system.body):
                assert words in row_labels or float(size) * points > 5.9, (name, words)


def test_a_short_line_alone_on_the_page_takes_room_and_a_last_line_is_spaced_like_the_one_before() -> None:
    page = Page(bpm=90.0)
    for _ in range(8):
        page.note("1", 3, 5)
    (alone,) = engrave(build_score(page.document()), EngraveOptions(width=1030.0))
    assert alone.places[1].x - alone.places[0].x > 1.3 * QUARTER_GAP
    for _ in range(44):
        page.note("1", 3, 5)
    *_, before, last = engrave(build_score(page.document()), EngraveOptions(width=520.0))
    steps = [system.places[1].x - system.places[0].x for system in (before, last)]
    assert abs(steps[0] - steps[1]) < 3.0
    assert last.width < 0.8 * before.width
