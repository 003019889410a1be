"""Every sign of the sheet is drawn where the music asks for it, and only there."""

from dataclasses import replace
from fractions import Fraction

import pytest
from lxml import etree

from tests.engraver_licks import HARD, FingeredPage
from tests.golden.licks import WAVE
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt, Slide
from transcribe.rhythm.rhythm import Meter
from transcribe.score.build import build_score
from transcribe.write.engraver.engrave import engrave
from transcribe.write.engraver.options import EXTRA_LINES, EngraveOptions

ALL_LINES = frozenset(EXTRA_LINES)


def drawn(document, **chosen):
    """All boxes of a document, all lines shown."""
    chosen = {"extra_lines": ALL_LINES, **chosen}
    return [box for system in engrave(build_score(document), EngraveOptions(**chosen)) for box in system.boxes]


def words_of(document, **chosen):
    return [box.words for box in drawn(document, **chosen) if box.words is not None]


def kinds_of(document, **chosen):
    return {box.kind for box in drawn(document, **chosen)}


def page(**told):
    return FingeredPage(bpm=90.0, **told)


def one(**told):
    """A bar with one quarter told so, then a quarter and a half that are plain."""
    lick = page()
    lick.play("1", 2, 8, 3, **told)
    lick.play("1", 2, 5, 1)
    lick.play("2", 3, 7, 3)
    return lick.document(key=Key("C", "major"))


@pytest.mark.parametrize(
    ("cents", "amount"), [(50, "¼"), (100, "½"), (150, "¾"), (200, "full"), (300, "1½"), (400, "2")]
)
def test_a_bend_tells_its_amount(cents, amount):
    assert amount in words_of(one(pushes=(("bend", float(cents)),)))
    assert "bend" in kinds_of(one(pushes=(("bend", float(cents)),)))
    assert amount not in words_of(one())


def test_a_bend_let_down_shows_the_fret_it_returns_to():
    assert "(8)" in words_of(one(pushes=(("bend", 200.0), ("release", 0.0))))
    assert "(8)" not in words_of(one(pushes=(("bend", 200.0),)))


def test_a_pre_bend_rises_straight_from_its_number():
    """The arrow of a pre-bend stands over its number; that of a bend ends to the right of it."""

    def leans(kind):
        boxes = drawn(one(pushes=((kind, 200.0),)), staves="tab")
        (number,) = [box for box in boxes if box.kind == "fret" and box.words == "8"]
        arrow = [box for box in boxes if box.kind == "bend" and box.words is None]
        return max(box.right for box in arrow) - (number.left + number.right) / 2

    assert leans("pre-bend") < leans("bend") - 5.0


@pytest.mark.parametrize(
    ("told", "kind"),
    [
        ({"vibrato": WAVE}, "vibrato"),
        ({"slide": Slide("in", 200.0)}, "slide"),
        ({"slide": Slide("out", -300.0)}, "slide"),
    ],
)
def test_gestures_are_drawn(told, kind):
    assert kind in kinds_of(one(**told))
    assert kind not in kinds_of(one())


@pytest.mark.parametrize(("kind", "slurred"), [("legato", True), ("shift", False)])
def test_a_legato_slide_is_slurred_and_a_shift_slide_is_not(kind, slurred):
    lick = page()
    lick.slide("1", 2, 5, 8, kind=kind)
    lick.play("3", 2, 8, 3, attack="slide" if slurred else "picked")
    kinds = kinds_of(lick.document())
    assert "slide" in kinds
    assert ("slur" in kinds) is slurred


@pytest.mark.parametrize(("attack", "fret"), [("hammer-on", 8), ("pull-off", 3)])
def test_hammered_and_pulled_notes_hang_on_a_slur_on_both_staves(attack, fret):
    lick = page()
    lick.play("1", 2, 5, 1)
    lick.play("3", 2, fret, 3, attack=attack)
    slurs = [box.staff for box in drawn(lick.document()) if box.kind == "slur"]
    assert sorted(slurs) == ["notation", "tab"]
    assert "slur" not in kinds_of(one())


@pytest.mark.parametrize(("told", "words"), [({"mute": "palm"}, "P.M."), ({"let_ring": True}, "let ring")])
def test_spans_name_themselves_and_run_on_in_dashes(told, words):
    lick = page()
    for fret in (5, 7, 5, 7):
        lick.play("1", 6, fret, 1, **told)
    boxes = [box for box in drawn(lick.document()) if box.kind == "span"]
    assert words in [box.words for box in boxes]
    assert any(box.words is None for box in boxes)
    assert words not in words_of(one())


def test_dead_notes_and_harmonics_have_heads_of_their_own():
    assert "x" in [word.lower() for word in words_of(one(mute="dead"))]
    assert any("12" in word and word != "12" for word in words_of(natural_harmonic()))


def natural_harmonic():
    lick = page()
    lick.play("4", 1, 12, 4, harmonic="natural")
    return lick.document()


def test_triplets_ties_rests_and_dots():
    lick = page()
    for _ in range(3):
        lick.play("1/3", 2, 5, 1)
    lick.rest("1/2")
    lick.play("3/2", 2, 5, 1)
    lick.play("2", 2, 8, 4)
    document = lick.document()
    assert {"tuplet", "rest", "tie"} <= kinds_of(document)
    assert "3" in words_of(document)
    assert not {"tuplet", "rest", "tie"} & kinds_of(one())
    assert "dot" in kinds_of(HARD["triplets"])


def test_fingers_strokes_degrees_tones_and_positions_are_lines_of_their_own():
    lick = page()
    for fret, finger, stroke in ((5, 1, "down"), (8, 4, "up")):
        lick.play("2", 2, fret, finger, stroke=stroke, degree="b3", tone="passing tone")
    document = lick.document()
    shown = words_of(document)
    assert {"1", "4", "♭3", "V"} <= set(shown)
    assert "passing tone" in " ".join(shown)
    bare = words_of(document, extra_lines=frozenset())
    assert not {"1", "4", "♭3", "V"} & set(bare)
    assert "passing tone" not in " ".join(bare)
    assert len(drawn(document)) > len(drawn(document, extra_lines=ALL_LINES - {"strokes"}))


def test_the_position_is_the_documents_own_whatever_finger_plays():
    """The third finger reaches a fret further: no new position. A hand that goes one fret on and returns is told."""
    lick = page()
    for fret, finger in ((15, 3), (12, 1), (14, 2), (12, 1)):
        lick.play("1", 2, fret, finger)

    def told(*positions):
        document = lick.document()
        notes = tuple(replace(take, position=at) for take, at in zip(document.notes, positions, strict=True))
        return [word for word in words_of(replace(document, notes=notes)) if set(word) <= set("XIV")]

    assert told(12, 12, 12, 12) == ["XII"]
    assert told(12, 12, 13, 12) == ["XII", "XIII", "XII"]
    assert told(None, None, None, None) == ["XIII"]  # by the fingers alone, one fret off is no move


def test_chord_symbols_stand_over_the_staff_and_roles_under_it():
    span = ChordSpan(Fraction(0), Fraction(4), "Bbmaj7", role="IV over I", over="D")
    boxes = drawn(replace(one(), chords=(span,)))
    (symbol,) = [box for box in boxes if box.words == "B♭maj7/D"]
    (role,) = [box for box in boxes if box.words == "IV over I"]
    heads = [box for box in boxes if box.kind == "head"]
    assert symbol.bottom < min(box.top for box in heads)
    assert role.top > max(box.bottom for box in heads)
    assert "B♭maj7/D" not in words_of(replace(one(), chords=(span,)), extra_lines=frozenset())


def test_a_cadence_stands_under_the_place_of_its_chord():
    span = ChordSpan(Fraction(0), Fraction(4), "G", role="I", cadence="perfect authentic")
    boxes = drawn(replace(one(), chords=(span,)))
    (role,) = [box for box in boxes if box.words == "I"]
    (cadence,) = [box for box in boxes if box.words == "perfect authentic"]
    assert cadence.top >= role.bottom - 1.0
    assert "perfect authentic" not in words_of(replace(one(), chords=(span,)), extra_lines=frozenset())


def test_tempo_estimate_swing_tuning_and_capo_head_the_music():
    guessed = FingeredPage(bpm=90.0, given=False, feel="swing", capo=2, open_midi=(64, 59, 55, 50, 45, 38))
    guessed.play("4", 2, 5, 1)
    shown = " ".join(words_of(guessed.document()))
    assert "≈ 90" in shown
    final = " ".join(words_of(guessed.document(), final=True))
    assert "= 90" in final, "a final sheet marks no estimate, neither here nor at the key"
    assert "≈" not in final
    assert "Tuning D A D G B E, low to high · Capo at fret 2" in shown
    assert "(" in shown  # the sign of swing stands in brackets
    plain = " ".join(words_of(one()))
    assert "= 90" in plain
    assert "Capo" not in plain
    assert "Tuning" not in plain


def test_compound_meters_count_in_dotted_quarters():
    lick = page(meter=Meter(6, 8))
    for _ in range(6):
        lick.play("1/2", 2, 5, 1)
    assert "= 60" in words_of(lick.document())


def test_a_doubt_is_ringed_and_marked_on_a_draft_and_not_on_a_final_sheet():
    doubted = replace(one(), doubts=(Doubt("hard to hear", "n1"),))
    assert "?" in words_of(doubted)
    assert "doubt" in kinds_of(doubted)
    assert "doubt" not in kinds_of(doubted, final=True)
    assert "doubt" not in kinds_of(one())


def test_a_pickup_is_a_short_bar_before_the_first():
    lick = page(pickup="1")
    lick.play("1", 2, 5, 1)
    lick.play("4", 2, 8, 4)
    (system,) = engrave(build_score(lick.document()), EngraveOptions())
    assert system.first_bar == 0
    first, second = system.places
    (line,) = {box.left for box in system.boxes if box.kind == "barline" and first.x < box.left < second.x}
    assert first.x < line < second.x


@pytest.mark.parametrize(("staves", "left_out"), [("tab", "clef"), ("notation", "fret")])
def test_a_staff_left_out_leaves_nothing_behind(staves, left_out):
    boxes = drawn(one(pushes=(("bend", 200.0),)), staves=staves)
    staff = "notation" if staves == "tab" else "tab"
    assert not [box for box in boxes if box.kind in ("head", left_out) and box.staff == staff]


@pytest.mark.parametrize("name", HARD)
def test_the_body_is_svg_with_one_titled_group_a_note(name):
    document = HARD[name]
    ids = []
    for system in engrave(build_score(document), EngraveOptions()):
        root = etree.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg">{system.svg()}</svg>')
        spots = root.findall(".//{*}title")
        assert spots
        assert all("bar " in spot.text or "pickup" in spot.text for spot in spots)
        ids += [element.get("id") for element in root.iter() if element.get("id")]
        assert "@" not in system.svg()
    assert len(ids) == len(set(ids))
    assert len(ids) >= len(document.notes)


def test_the_title_of_a_note_says_how_it_is_played():
    document = one(pushes=(("bend", 200.0),), degree="6", stroke="down")
    (system,) = engrave(build_score(document), EngraveOptions())
    assert "bar 1 beat 1: G, string 2 fret 8, finger 3, down stroke, bend of a full tone, degree 6" in system.body


def test_the_same_score_is_drawn_the_same():
    first, again = (engrave(build_score(HARD["triplets"]), EngraveOptions()) for _ in range(2))
    assert first == again


def cues(boxes, kind="cue"):
    """What stands on the notation staff for the first note."""
    return [box for box in boxes if box.kind == kind and box.staff == "notation" and box.note == "n1"]


@pytest.mark.parametrize("staves", ["both", "notation"])
def test_a_bend_shows_the_pitch_it_reaches_as_a_small_head(staves):
    """A whole tone is one step of the staff: five units, half a space."""
    systems = drawn(one(pushes=(("bend", 200), ("release", 0))), staves=staves)
    (head,) = (box for box in cues(systems, "head"))
    up, down = cues(systems)
    middle = (head.top + head.bottom) / 2
    assert (up.top + up.bottom) / 2 == pytest.approx(middle - 5.0, abs=0.5)
    assert (down.top + down.bottom) / 2 == pytest.approx(middle, abs=0.5)
    assert head.right < up.left < up.right < down.left


def test_a_pre_bend_stands_at_its_sound_with_the_fretted_pitch_in_brackets_before_it():
    systems = drawn(one(pushes=(("pre-bend", 200),)))
    (head,), (small,) = cues(systems, "head"), cues(systems)
    assert small.right < head.left
    assert small.top + small.bottom - head.top - head.bottom == pytest.approx(10.0, abs=1.0)
    assert len(cues(systems, "sign")) == 2  # the brackets


def test_a_curl_between_semitones_has_an_arrow_and_no_head():
    systems = drawn(one(pushes=(("bend", 50),)), staves="notation")
    assert cues(systems) == []
    assert "¼" in words_of(one(pushes=(("bend", 50),)), staves="notation")


def test_a_small_head_has_the_accidental_it_needs():
    """G bent a semitone to G sharp in C."""
    assert len(cues(drawn(page_of_g(("bend", 100))), "accidental")) == 1
    assert cues(drawn(page_of_g(("bend", 200))), "accidental") == []


def page_of_g(push):
    lick = page()
    lick.note("1", 2, 8, pushes=(push,))
    return lick.document(key=Key("C", "major"))


def test_harmonics_tell_where_the_string_is_touched():
    """Natural: the touched fret alone. Artificial: the fretted one, then its node 12, 7 or 5 frets higher."""
    told = words_of(HARD["harmonics"])
    frets = [word for word in told if "<" in word]
    assert frets == ["<12>", "<7>", "<5>", "5<17>", "7<19>", "5<12>", "7<12>", "9<21>"]
    assert told.count("A.H.") == 5
    assert words_of(HARD["harmonics"], staves="notation").count("A.H.") == 5


def test_a_harmonic_of_no_node_says_only_where_it_is_fretted():
    lick = page()
    lick.note("1", 3, 7, harmonic="artificial")
    assert "7" in words_of(lick.document())


def _on_tab(document, kind):
    return [box for box in drawn(document) if box.kind == kind and box.staff == "tab"]


def _numbers(document):
    return {box.note: box for box in _on_tab(document, "fret") if not box.words.startswith("(")}


def _led_on(slide):
    """A note from the second eighth of a bar on, written as two tied heads, and what follows it on its string."""
    lick = page()
    lick.play("1/2", 4, 5, 1)
    lick.play("5/2", 3, 5, 1, slide=slide)
    lick.play("1", 3, 7, 3, attack="slide" if slide.to else "picked")
    return lick.document()


@pytest.mark.parametrize(
    ("slide", "kinds"), [(Slide("legato", 200.0, "n3"), ("slide", "slur")), (Slide("out", -300.0), ("slide",))]
)
def test_what_leads_on_from_a_tied_note_begins_at_its_number(slide, kinds):
    """A tied head inside a bar has no number on the tab: a line from there would begin at nothing."""
    document = _led_on(slide)
    assert any(head.tied_from for bar in build_score(document).bars for event in bar.voices[0] for head in event.notes)
    number = _numbers(document)["n2"]
    for kind in kinds:
        (line,) = _on_tab(document, kind)
        assert number.left < line.left < number.right + 5.0


def test_a_tie_over_a_bar_line_begins_at_the_number_of_its_note():
    lick = page()
    lick.play("1/2", 4, 5, 1)
    held = lick.play("1/2", 5, 3, 3)
    for fret in (2, 4, 2, 4, 5, 4):
        lick.play("1/2", 2, fret, 1)
    lick.play("4", 2, 5, 1)
    lick.hold(held, "5")
    document = lick.document()
    assert "(3)" in [box.words for box in _on_tab(document, "fret")]
    ties = [box for box in _on_tab(document, "tie")]
    assert len(ties) == 1
    assert abs(ties[0].left - _numbers(document)[held].right) < 4.0


def test_a_slur_keeps_clear_of_the_number_on_the_next_string():
    """Hammered on the fourth string while the third is struck between: the slur goes underneath."""
    lick = page()
    first = lick.play("1/4", 4, 0)
    between = lick.play("1/4", 3, 0)
    lick.play("1/2", 4, 2, 2, attack="hammer-on")
    lick.play("3", 2, 5, 1)
    document = lick.document()
    (slur,) = _on_tab(document, "slur")
    numbers = _numbers(document)
    assert slur.top > numbers[between].bottom
    assert slur.top > (numbers[first].top + numbers[first].bottom) / 2, "below its own string"
