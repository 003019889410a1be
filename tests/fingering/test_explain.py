import pytest

from fingering import PassageError, explain, solve
from fingering.cost import TERMS
from tests.fingering_music import line
from tests.lead_licks import lick


def test_a_note_is_explained_against_the_next_best_string():
    passage, _, profile = lick("box one, bend and answer")
    told = explain(passage, profile=profile, note="n1")
    assert told.words[0].startswith("string 2, 5th fret, finger 1, rather than string 3, 9th fret")
    assert told.margin > 0
    assert told.runner_up.placement("n1").string != 2
    assert sum(told.gains.values()) == pytest.approx(told.margin)
    assert set(told.gains) <= set(TERMS)


def test_the_whole_is_explained_against_a_different_fingering():
    passage, _, profile = lick("box one, bend and answer")
    told = explain(passage, profile=profile)
    assert "E-shape minor pentatonic, 5th fret" in told.words[0]
    assert told.margin == pytest.approx(told.runner_up.cost - solve(passage, profile=profile).cost, rel=1e-4)


def test_a_fixed_note_a_lonely_note_and_a_note_off_the_neck_say_so():
    assert "you fixed it" in explain(line(64, locked_string=2), note="n0").words[0]
    assert "the only place" in explain(line(40), note="n0").words[0]
    assert "not on this neck" in explain(line(20), note="n0").words[0]
    with pytest.raises(PassageError, match="no note n9"):
        explain(line(64), note="n9")
