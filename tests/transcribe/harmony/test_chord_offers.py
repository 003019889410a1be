from tests.harmony_lines import line
from transcribe.harmony.chord import Chord
from transcribe.harmony.chord_offers import candidates, root_name
from transcribe.harmony.groups import groups_of
from transcribe.harmony.key import key_from_text

C, A_MINOR = key_from_text("C"), key_from_text("A minor")


def offers(pitches, key):
    (group,) = groups_of(line(pitches))
    return candidates(group, key)


def test_a_spelled_chord_costs_less_than_one_with_a_stranger():
    plain, strange = offers((48, 55, 60, 64), C), offers((48, 54, 55, 60, 64), C)
    assert plain[Chord("C")] < strange[Chord("C")]


def test_four_tones_that_spell_nothing_are_heard_without_one():
    assert Chord("C") in offers((48, 54, 55, 64), C)


def test_three_tones_that_spell_nothing_are_no_chord():
    assert offers((48, 49, 50), C) == {}


def test_a_diminished_chord_is_named_by_where_it_leads():
    assert root_name(8, A_MINOR, "dim7") == "G#"
    assert root_name(1, C, "dim7") == "C#"  # to D
    assert root_name(1, C) == "Db"
    costs = offers((56, 59, 62, 65), A_MINOR)
    assert min(costs, key=costs.get) == Chord("G#", "dim7")
