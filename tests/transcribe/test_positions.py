"""The ways to play a document's notes: easiest first, really different, and true to what is fixed."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fingering.errors import FingeringError, LockError
from fingering.passage import Placement
from tests.strategies_documents import documents
from transcribe.cli.positions_page import ways_page
from transcribe.document.analyse import analyse
from transcribe.document.edit import lock
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.document.read import document_from_json
from transcribe.document.text import take_to_json
from transcribe.errors import SettingsError
from transcribe.harmony.key import key_from_text
from transcribe.notes.note import Bend, Note
from transcribe.positions import Lock, Wishes, find_positions, why_there
from transcribe.reasons import effort_of, hand_words, reasons_for
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing


def line(*midis: int) -> TakeDocument:
    """Eighths at 120, four to a half bar."""
    takes = []
    for index, midi in enumerate(midis):
        bar, eighth = divmod(index, 8)
        timing = Timing(bar + 1, Fraction(eighth, 2), Fraction(1, 2))
        takes.append(TakeNote(Note(f"n{index + 1}", index / 4, (index + 1) / 4, midi), timing=timing))
    return TakeDocument(tuple(takes), rhythm=Rhythm(120.0, Meter(4, 4), 0.0, tempo_source="given"))


PENTATONIC = line(57, 60, 62, 64, 67, 69, 67, 64)  # A minor pentatonic, A3 to A4


def strings_of(document: TakeDocument) -> list[int]:
    return [take.placement.string for take in document.notes if take.placement is not None]


def test_ways_come_easiest_first_and_differ_in_a_third_of_their_strings() -> None:
    found = find_positions(PENTATONIC)
    efforts = [effort_of(way.fingering) for way in found.ways]
    assert efforts == sorted(efforts)
    assert len(found.ways) >= 3
    strings = [strings_of(found.document_with(number)) for number in range(1, len(found.ways) + 1)]
    for index, mine in enumerate(strings):
        for other in strings[:index]:
            assert sum(a != b for a, b in zip(mine, other, strict=True)) >= 0.3 * len(mine)


def test_every_place_gives_the_pitch_of_its_note() -> None:
    found = find_positions(PENTATONIC)
    for number in range(1, len(found.ways) + 1):
        for take in found.document_with(number).notes:
            assert found.document.instrument.open_strings_midi[take.placement.string - 1] + take.placement.fret == (
                take.note.midi
            )


@given(st.lists(st.integers(45, 79), min_size=1, max_size=7), st.data())
def test_any_lock_is_honoured_in_every_way(midis: list[int], data: st.DataObject) -> None:
    document = line(*midis)
    index = data.draw(st.integers(0, len(midis) - 1))
    opens = document.instrument.open_strings_midi
    string = data.draw(st.sampled_from([s for s in range(1, 7) if 0 <= midis[index] - opens[s - 1] <= 22]))
    wishes = Wishes(locks=(Lock(f"n{index + 1}", string=string),), count=2)
    found = find_positions(document, wishes)
    for number in range(1, len(found.ways) + 1):
        take = found.document_with(number).notes[index]
        assert take.placement.string == string
        assert "string" in take.locked


@pytest.mark.parametrize("key", ["C major", "A minor"])
def test_a_way_is_called_what_the_document_calls_it(key: str) -> None:
    """C major and A minor share their boxes: each is named by the key, in both places."""
    document = analyse(replace(line(57, 60, 62, 64, 67, 69, 72, 74, 76), key=key_from_text(key)))
    found = find_positions(document)
    for number, way in enumerate(found.ways, start=1):
        shapes = found.document_with(number).shapes
        assert way.fingering.shapes == shapes
        assert all(span.name in way.where for span in shapes)
    assert key.split()[1] in found.ways[0].where


def test_what_the_document_has_fixed_is_honoured_without_being_asked() -> None:
    document = lock(PENTATONIC, "n4", string=4, fret=14)
    found = find_positions(document)
    assert all(found.document_with(number).notes[3].placement.string == 4 for number in range(1, len(found.ways) + 1))


def test_the_document_given_is_not_changed() -> None:
    before = PENTATONIC
    find_positions(before, Wishes(locks=(Lock("n1", string=5),))).document_with(1)
    assert all(take.placement is None and not take.locked for take in before.notes)


def test_two_locks_that_contradict_each_other_are_named() -> None:
    bent = replace(PENTATONIC.notes[0].note, attack="picked")
    slid = replace(PENTATONIC.notes[1].note, attack="hammer-on")
    notes = (replace(PENTATONIC.notes[0], note=bent), replace(PENTATONIC.notes[1], note=slid))
    document = replace(PENTATONIC, notes=notes)
    with pytest.raises(LockError, match="n1 and n2"):
        find_positions(document, Wishes(locks=(Lock("n1", string=4), Lock("n2", string=3))))


def test_a_number_that_is_not_there() -> None:
    found = find_positions(PENTATONIC, Wishes(count=1))
    with pytest.raises(SettingsError, match="there is no way 3") as refused:
        found.document_with(3)
    assert refused.value.mend == "Ways are numbered 1 to 2."
    assert find_positions(TakeDocument(())).ways == ()
    with pytest.raises(SettingsError, match="there is no way 1"):
        find_positions(TakeDocument(())).document_with(1)


def test_a_profile_is_kept_in_the_document_for_the_next_time() -> None:
    kept = find_positions(PENTATONIC, Wishes(profile="classical", picking="fingers")).document_with(1)
    again = find_positions(kept)
    assert (again.profile, again.picking) == ("classical", "fingers")
    assert {take.placement.stroke for take in again.document_with(1).notes} <= set("pima")
    with pytest.raises(FingeringError, match="no cost profile"):
        find_positions(PENTATONIC, Wishes(profile="jazz"))


def test_a_setting_of_an_older_tool_does_not_stop_anything() -> None:
    odd = replace(PENTATONIC, tool={"settings": {"profile": 7, "picking": None}})
    assert find_positions(odd).profile == "lead line"
    unknown = replace(PENTATONIC, tool={"settings": {"profile": "of another program", "picking": "of another"}})
    assert find_positions(unknown).profile == "lead line"


def test_the_way_the_document_has_is_known() -> None:
    found = find_positions(PENTATONIC)
    assert found.stands_now() is None
    assert find_positions(found.document_with(1)).stands_now() == 1


def test_only_some_bars_are_placed_and_the_others_keep_their_places() -> None:
    document = find_positions(line(*([57, 60, 62, 64, 67, 69, 67, 64] * 2))).document_with(1)
    found = find_positions(document, Wishes(bars=(2, 2), frets=(9, 14)))
    changed = found.document_with(1)
    assert changed.notes[:8] == document.notes[:8]
    assert all(9 <= take.placement.fret <= 14 for take in changed.notes[8:])


def test_a_note_of_other_bars_that_still_sounds_keeps_its_string_to_itself() -> None:
    ringing = replace(PENTATONIC.notes[0].note, offset_s=9.0)
    first = replace(PENTATONIC.notes[0], note=ringing, placement=Placement("n1", 3, 2, 1))
    rest = line(*([57] * 8), 60, 62, 64).notes[8:]
    document = replace(PENTATONIC, notes=(first, *rest))
    changed = find_positions(document, Wishes(bars=(2, 2))).document_with(1)
    assert changed.notes[0] == first
    assert 3 not in {take.placement.string for take in changed.notes[1:]}


def test_reasons_tell_hand_effort_sound_and_care() -> None:
    wide = Note("n1", 0.0, 1.0, 53, bends=(Bend("bend", 0.1, 0.3, 1.0, 300, 300),))
    found = find_positions(TakeDocument((TakeNote(wide),)))
    told = reasons_for(found.ways[0], found.ways[0])
    assert told[0].startswith("hand: stays in")
    assert any(line.startswith("effort ") for line in told)
    found = find_positions(PENTATONIC)
    second = reasons_for(found.ways[1], found.ways[0])
    assert any("more than the first:" in line for line in second)
    assert any(line.startswith("sound: ") for line in second)


def test_what_many_notes_have_in_common_is_said_once() -> None:
    found = find_positions(line(72, 74, 76), Wishes(frets=(1, 2)))
    (told,) = [reason for reason in reasons_for(found.ways[0], found.ways[0]) if reason.startswith("look at")]
    assert told == "look at n1, n2, n3: it does not lie within the strings and frets asked for"


def test_what_was_heard_of_the_strings_is_told_and_is_no_effort() -> None:
    easy = find_positions(PENTATONIC).document_with(1)
    notes = tuple(
        replace(
            take,
            note=replace(
                take.note,
                string_weights=tuple(0.95 if k == take.placement.string + 1 else 0.01 for k in range(1, 7)),
            ),
        )
        for take in easy.notes
    )
    found = find_positions(replace(PENTATONIC, notes=notes))
    first, second = (reasons_for(way, found.ways[0], found.document.notes) for way in found.ways[:2])
    assert "heard: 8 of 8 notes sound as if played on these strings" in first
    assert "heard: 0 of 8 notes sound as if played on these strings" in second
    assert any("less than the first:" in line for line in second)


def test_the_hand_is_told_by_its_positions() -> None:
    low_then_high = find_positions(line(40, 41, 43, 84, 86)).ways[0].fingering
    words = hand_words(low_then_high)
    assert "1 shift, positions" in words or "shifts, positions" in words
    assert hand_words(find_positions(line(40, 45, 50)).ways[0].fingering) == "hand: open strings alone"


def test_why_a_note_lies_where_it_does() -> None:
    words = why_there(PENTATONIC, "n3")
    assert "rather than string" in words[0]
    assert why_there(PENTATONIC, "n3", Wishes(locks=(Lock("n3", string=4),)))[0].endswith("you fixed it there")
    with pytest.raises(SettingsError, match="there is no note n9"):
        why_there(PENTATONIC, "n9")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(documents(most=6))
def test_any_document_has_ways_with_reasons_or_locks_that_contradict(document: TakeDocument) -> None:
    """Pitches off the neck, notes of no length, capos, odd tunings, ties in circles: words or ways, never a crash."""
    try:
        found = find_positions(document, Wishes(count=2))
    except FingeringError as error:
        said = (error.found, error.mend)
        found = None
    if found is None:
        assert all(said)
        return
    assert bool(found.ways) == bool(document.notes)
    for number, way in enumerate(found.ways, start=1):
        changed = document_from_json(take_to_json(found.document_with(number)))
        assert [take.id for take in changed.notes] == [take.id for take in document.notes]
        assert reasons_for(way, found.ways[0])
        doubted = {doubt.id for doubt in way.fingering.doubts}
        placed = set(way.fingering.by_id)
        assert {pluck for pluck in way.fingering.positions if pluck not in placed} <= doubted


def struck(*moments: tuple[int, ...], seconds: float = 0.5, rings: float = 0.5) -> TakeDocument:
    """Notes struck together, moment after moment, ids n1, n2 ... each moment from high to low."""
    takes = []
    for at, midis in enumerate(moments):
        for midi in midis:
            name = f"n{len(takes) + 1}"
            takes.append(TakeNote(Note(name, at * seconds, at * seconds + rings, midi)))
    return TakeDocument(tuple(takes))


def test_sixths_under_the_pick_say_that_a_string_lies_between() -> None:
    sixths = struck((72, 64), (74, 65), (76, 67))
    told = reasons_for(*2 * find_positions(sixths).ways[:1], sixths.notes)
    assert (
        "picking: a string lies between the notes struck at n1, n3, n5: mute it, or play with pick and fingers" in told
    )
    for ways in (find_positions(sixths, Wishes(picking="fingers")), find_positions(struck((64, 60), (65, 62)))):
        told = reasons_for(*2 * ways.ways[:1], ways.document.notes)
        assert not any(line.startswith("picking:") for line in told)


def test_sixths_played_with_pick_and_fingers_skip_nothing() -> None:
    found = find_positions(struck((72, 64), (74, 65)), Wishes(picking="pick and fingers"))
    assert not any(line.startswith("picking:") for line in reasons_for(*2 * found.ways[:1], found.document.notes))


def test_a_way_several_times_as_hard_is_kept_and_says_so() -> None:
    found = find_positions(struck((64,), (65,), (67,), (69,), (71,), (72,)), Wishes(count=4))
    first = found.ways[0]
    words = {effort_of(way.fingering): any("much harder" in line for line in reasons_for(way, first))
             for way in found.ways}  # fmt: skip
    least = effort_of(first.fingering)
    assert True in words.values()
    assert all(said == (effort > 2.5 * least and effort - least > 6 * 0.25) for effort, said in words.items())


def test_what_is_not_proved_the_easiest_is_told_on_the_page_and_in_the_document() -> None:
    chance = random.Random(2)
    wash = struck(*((chance.randint(45, 76),) for _ in range(30)), seconds=0.1, rings=2.0)
    found = find_positions(wash, Wishes(count=0))
    assert any("may be an easier one" in line for line in reasons_for(found.ways[0], found.ways[0]))
    assert "may be an easier one" in " ".join(ways_page(found, "wash").split())
    read = document_from_json(take_to_json(found.document_with(1)))
    assert sum("may be an easier one" in doubt.why for doubt in read.doubts) == 1
