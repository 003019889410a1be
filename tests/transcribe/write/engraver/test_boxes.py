"""Nothing collides and everything lines up, read from the boxes of engraved systems."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.engraver_boxes import collisions
from tests.engraver_licks import HARD, FingeredPage, shuffled
from tests.golden.licks import LICKS, WAVE
from tests.strategies_documents import documents
from transcribe.document.read import read_document
from transcribe.harmony.key import Key
from transcribe.score.build import build_score
from transcribe.write.engraver.engrave import engrave
from transcribe.write.engraver.options import EXTRA_LINES, EngraveOptions

REFERENCES = sorted((Path(__file__).parents[4] / "fixtures" / "reference").glob("*.bright-electric.take.json"))
WRITTEN = {**HARD, **{name: lick[0] for name, lick in LICKS.items()}}
ALL_LINES = frozenset(EXTRA_LINES)


def systems_of(document, **chosen):
    return engrave(build_score(document), EngraveOptions(**chosen))


def told(pairs):
    """Colliding boxes in words, for a failing test to print."""
    return [tuple((box.kind, box.staff, box.note, box.words) for box in pair) for pair in pairs]


def ring_and_stem(one, other):
    """The ring of a doubt stands around its own note, and so across that note's stem."""
    return {one.kind, other.kind} == {"doubt", "stem"}


def assert_nothing_collides(systems):
    for system in systems:
        assert told(pair for pair in collisions(system) if not ring_and_stem(*pair)) == []


@pytest.mark.parametrize("staves", ["both", "tab", "notation"])
@pytest.mark.parametrize("name", WRITTEN)
def test_nothing_collides_in_licks_that_are_hard_to_engrave(name, staves):
    for width in (1030.0, 520.0):
        assert_nothing_collides(systems_of(WRITTEN[name], width=width, staves=staves, extra_lines=ALL_LINES))


@pytest.mark.parametrize("path", REFERENCES, ids=lambda path: path.stem.split(".")[0])
def test_nothing_collides_in_the_licks_of_the_fixtures(path):
    assert_nothing_collides(systems_of(read_document(path), extra_lines=ALL_LINES))


@pytest.mark.parametrize("staves", ["both", "tab", "notation"])
@pytest.mark.parametrize("seed", [3, 4, 8, 16, 30, 32, 39, 55, 57, 65, 81, 89])  # each once showed a fault
def test_nothing_collides_in_crowded_bends(seed, staves):
    assert_nothing_collides(systems_of(shuffled(seed), width=520.0, staves=staves, extra_lines=ALL_LINES))


def test_the_check_sees_a_collision():
    (system, *_) = systems_of(HARD["chords"])
    frets = [box for box in system.boxes if box.kind == "fret"]
    moved = type(frets[0])("fret", frets[0].left, frets[0].top, frets[0].right, frets[0].bottom, "tab", "other", "9")
    crowded = type(system)(
        system.body, system.width, system.height, system.first_bar, system.last_bar,
        (*system.boxes, moved), system.places, system.staves,
    )  # fmt: skip
    assert collisions(crowded)


@pytest.mark.parametrize("name", WRITTEN)
def test_bar_lines_join_the_staves_and_systems_fill_the_width_asked(name):
    systems = systems_of(WRITTEN[name], width=700.0)
    for system in systems:
        lines = {}
        for box in system.boxes:
            if box.kind == "barline":
                lines.setdefault(round((box.left + box.right) / 2, 1), []).append(box)
        (_, top, _), (_, _, bottom) = system.staves[0], system.staves[-1]
        for x, boxes in lines.items():
            assert min(box.top for box in boxes) <= top + 0.6, x
            assert max(box.bottom for box in boxes) >= bottom - 0.6, x
        assert system.width <= 706.0  # the pen's breadth at both ends
    for system in systems[:-1]:
        assert abs(system.width - 700.0) < 6.0
    assert [here.last_bar + 1 for here in systems[:-1]] == [after.first_bar for after in systems[1:]]


@pytest.mark.parametrize("name", WRITTEN)
def test_a_head_and_its_fret_number_stand_over_each_other(name):
    for system in systems_of(WRITTEN[name]):
        heads, frets = ({}, {})
        for box in system.boxes:
            kept = {"head": heads, "fret": frets}.get(box.kind)
            if kept is not None and box.note is not None and box.staff in ("notation", "tab"):
                kept.setdefault(box.note, []).append((box.left + box.right) / 2)
        both = heads.keys() & frets.keys()
        assert both
        for note in both:  # heads a second apart step aside by their width
            assert abs(min(heads[note]) - min(frets[note])) < 16.0, note


@pytest.mark.parametrize("name", WRITTEN)
def test_notes_come_in_the_order_of_the_music(name):
    for system in systems_of(WRITTEN[name]):
        places = [(place.bar, place.beat, place.x) for place in system.places]
        by_time = sorted(places, key=lambda place: place[:2])
        for before, after in pairwise(by_time):
            assert before[2] < after[2] + 16.0 if before[:2] == after[:2] else before[2] < after[2]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(documents(most=8), st.sampled_from(("both", "tab", "notation")), st.sampled_from((420.0, 1030.0)))
def test_any_document_becomes_systems_of_music(document, staves, width):
    systems = systems_of(document, staves=staves, width=width)
    assert systems
    assert all(system.height > 0 for system in systems)


@pytest.mark.parametrize("name", ["two voices", "oblique", "bends in two voices"])
def test_on_a_tab_alone_beams_and_flags_stand_over_the_arrows_of_bends(name):
    document = bends_in_two_voices() if name == "bends in two voices" else WRITTEN[name]
    for width in (1030.0, 520.0):
        for system in systems_of(document, width=width, staves="tab"):
            arrows = [box for box in system.boxes if box.kind == "bend"]
            over = [box for box in system.boxes if box.kind in ("beam", "flag")]
            assert told((one, other) for one in arrows for other in over if one.touches(other)) == []


@pytest.mark.parametrize("staves", ["both", "tab", "notation"])
def test_nothing_collides_where_the_upper_of_two_voices_bends(staves):
    for width in (1030.0, 520.0):
        assert_nothing_collides(systems_of(bends_in_two_voices(), width=width, staves=staves, extra_lines=ALL_LINES))


def bends_in_two_voices():
    """Beamed, flagged and lone notes bent over ringing basses, a pre-bend among them, and sixteenths."""
    page = FingeredPage(bpm=80.0)
    bass = page.play("1", 6, 5, 1)
    page.hold(bass, "4")
    page.at -= 1
    up, back = ("bend", 200), ("release", 0)
    page.play("1/2", 2, 8, 3, pushes=(up,))
    page.play("1/2", 2, 8, 3, pushes=(up, back))
    page.play("1/4", 2, 8, 3, pushes=(("bend", 100),))
    page.play("1/4", 1, 5, 1)
    page.play("1/4", 1, 8, 4, pushes=(up,))
    page.play("1/4", 2, 5, 1)
    page.rest("1/2")
    page.play("1/2", 2, 8, 3, pushes=(up,))
    page.play("1/2", 3, 7, 3, pushes=(("pre-bend", 200), back))
    page.rest("1/2")
    bass = page.play("1", 5, 7, 3)
    page.hold(bass, "4")
    page.at -= 1
    page.play("3/2", 2, 10, 3, pushes=(("pre-bend", 200), back, up))
    page.play("1/2", 1, 8, 1)
    page.play("2", 2, 10, 3, pushes=(up,), vibrato=WAVE)
    return page.document(key=Key("A", "minor"))
