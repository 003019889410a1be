"""Beams by the beats of the bar; the groupings are common practice."""

from fractions import Fraction

import pytest

from fingering.passage import Placement
from transcribe.document.model import TakeNote
from transcribe.notes.note import Note
from transcribe.rhythm.rhythm import Meter
from transcribe.score.score import Bar, Event, ScoreNote, Spelled, WrittenValue
from transcribe.write.beams import beam_marks, beat_length

HEAD = (ScoreNote(TakeNote(Note("n1", 0.0, 1.0, 60), Placement("n1", 2, 1, 1)), Spelled("C", 0, 4)),)
VALUES = {
    "8": WrittenValue("eighth"), "8.": WrittenValue("eighth", 1),
    "16": WrittenValue("16th"), "32": WrittenValue("32nd"),
    "4": WrittenValue("quarter"), "4.": WrittenValue("quarter", 1), "2": WrittenValue("half"),
    "8t": WrittenValue("eighth", tuplet=(3, 2)),
}  # fmt: skip


def marks(words: str, meter: str = "4/4", number: int = 1):
    """First letters of the marks of a bar written as ``8 16 r8``: b, c, e, and f, k for forward and backward hooks."""
    beats, unit = meter.split("/")
    events, at = [], Fraction(0)
    for word in words.split():
        value = VALUES[word.lstrip("r")]
        events.append(Event(at, value, () if word.startswith("r") else HEAD))
        at += value.quarters
    found = beam_marks(events, Bar(number, at, (tuple(events),)), Meter(int(beats), int(unit)))
    return " ".join(
        "".join("fk"[["forward", "backward"].index(mark.split()[0])] if "hook" in mark else mark[0] for mark in beams)
        or "-"
        for beams in found
    )


@pytest.mark.parametrize(
    ("words", "meter", "expected"),
    [
        ("8 8 8 8 8 8 8 8", "4/4", "b e b e b e b e"),
        ("16 16 16 16 4 2", "4/4", "bb cc cc ee - -"),
        ("8. 16 16 8. 2", "4/4", "b ek bf e -"),
        ("8 16 16 16 16 8 2", "4/4", "b cb ee bb ce e -"),
        ("16 8 16 4 2", "4/4", "bf c ek - -"),
        ("8 r8 r8 8 2", "4/4", "- - - - -"),
        ("4. 8 2", "4/4", "- - -"),
        ("8 4 8 2", "4/4", "- - - -"),
        ("8t 8t 8t 8t 8t 8t 2", "4/4", "b c e b c e -"),
        ("8 8 8 8 8 8", "6/8", "b c e b c e"),
        ("8 8 8 8 8 8", "3/4", "b e b e b e"),
        ("32 32 32 32 8 4 2", "4/4", "bbb ccc ccc cee e - -"),
    ],
)
def test_beams_follow_the_beat(words, meter, expected):
    assert marks(words, meter) == expected


def test_a_pickup_is_beamed_as_the_end_of_its_bar():
    """Three eighths before the bar line of 4/4 are one alone and two on the last beat."""
    assert marks("8 8 8", number=0) == "- b e"


@pytest.mark.parametrize(
    ("meter", "quarters"), [("4/4", 1), ("3/4", 1), ("2/2", 2), ("6/8", "3/2"), ("12/8", "3/2"), ("3/8", 1), ("7/8", 1)]
)
def test_the_beat_a_player_taps(meter, quarters):
    beats, unit = meter.split("/")
    assert beat_length(Meter(int(beats), int(unit))) == Fraction(quarters)
