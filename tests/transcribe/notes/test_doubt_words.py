import pytest

from transcribe.notes.confidence_weights import LINE, SEVERAL
from transcribe.notes.doubt_words import (
    ELSE,
    OF_A_LINE,
    OF_SEVERAL,
    OF_SEVERAL_LAST,
    SECOND_OF_A_LINE,
    likeliest_reason,
)
from transcribe.notes.odds import Curve, Odds
from transcribe.notes.weigh import Grounds, Second
from transcribe.notes.weigh_voices import VoiceGrounds


def of_several(**changed):
    plain = {name: 0.0 for name in VoiceGrounds.__slots__}
    plain |= {"sure": 0.9, "contour": 0.9, "length_s": 0.5, "since_same_s": 1.0, "gap_same_s": 1.0, "midi": 64.0}
    return plain | {"together": 1.0} | changed


def weighing(*names):
    """Odds to which each of these grounds matters alike, whichever way it runs."""
    return Odds(0.0, {name: Curve((-100.0, 100.0), (0.0, 0.0)) for name in names}, 0.9)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"under": 0.9}, "overtone of a lower note"),
        ({"above": 0.9}, "octave or more too low"),
        ({"gap_same_s": 0.02, "since_same_s": 0.3}, "struck again, or one note ringing on"),
        ({"repeats_db": 9.0}, "echo"),
        ({"length_s": 0.05}, "very short"),
        ({"habit": 0.8, "midi": 55.0, "together": 2.0}, "body of the guitar"),
        ({"contour": 0.6}, "unsure among the other strings"),
    ],
)
def test_each_reason_has_its_words(changed, words):
    """The ground that is out of its bounds, and costs something, is told."""
    grounds = of_several(**changed)
    name = next(iter(changed))
    low = Odds(0.0, {name: Curve((grounds[name] - 1e-3, grounds[name] + 1.0), (0.0, 3.0))}, 0.9)
    assert words in likeliest_reason(grounds, low)


def test_where_nothing_stands_out_a_chord_or_the_beginning_is_told():
    odds = weighing("sure")
    assert "one note of a chord" in likeliest_reason(of_several(together=3.0), odds)
    assert "beginning is unsure" in likeliest_reason(of_several(legato=1.0), odds)
    assert likeliest_reason(of_several(), odds) == ELSE


def test_a_second_hearing_is_told_last():
    grounds = Grounds(0.85, 0.95, 0.4, 0.0, 1.0, 1.0, 3.0, 4.0, second=Second(0.0, 0.0, 1.0, 0.5)).values()
    assert "another pitch sounds here" in likeliest_reason(grounds, LINE)


def test_reasons_speak_of_grounds_that_are_weighed():
    """A reason whose grounds nobody measures could never be told."""
    measured = set(VoiceGrounds.__slots__)
    assert {name for reason in (*OF_SEVERAL, *OF_SEVERAL_LAST) for name in reason.bounds} <= measured
    told = set(Grounds(0, 0, 0, 0, 0, 0, 0, 0, second=Second(0, 0, 0, 0)).values())
    assert {name for reason in (*OF_A_LINE, *SECOND_OF_A_LINE) for name in reason.bounds} <= told
    assert set(SEVERAL.curves) <= measured
    assert set(LINE.curves) <= told
