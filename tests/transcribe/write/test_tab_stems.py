from fractions import Fraction

import pytest

from fingering.passage import Placement
from transcribe.document.model import TakeNote
from transcribe.notes.note import Note
from transcribe.score.score import Event, ScoreNote, Spelled, WrittenValue
from transcribe.write.tab_stems import Stem, beam_groups, stem_rows

NOTE = TakeNote(Note("n1", 0.0, 1.0, 62), Placement("n1", 3, 7, None))
SHORT = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th", "t": "32nd"}


def stems(text, *, apart=4):
    """``"e e q. rq (e e e)"``: one beat a quarter; ~ behind a note ties it on."""
    found, at, tied = [], Fraction(0), False
    triplet = False
    for index, word in enumerate(text.split()):
        starts, stops = word.startswith("("), word.endswith(")")
        triplet = triplet or starts
        bare = word.strip("()")
        rest, tie = bare.startswith("r"), bare.endswith("~")
        bare = bare.removeprefix("r").removesuffix("~")
        value = WrittenValue(SHORT[bare[0]], bare.count("."), (3, 2) if triplet else None)
        heads = () if rest else (ScoreNote(NOTE, Spelled("D", 0, 4), tied_from=tied, tied_to=tie),)
        found.append(Stem(index * apart, Event(at, value, heads, starts, stops), (1, at // 1)))
        triplet, tied, at = triplet and not stops, tie, at + value.quarters
    return found


def drawn(text, **more):
    line = stems(text, **more)
    return stem_rows(line, line[-1].x + 3)[0]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("q q", ["│   │", "│   │"]),
        ("h w", ["○   ○", "│"]),
        ("q. e", ["│.  │", "│   └╴"]),
        ("e e", ["│   │", "└───┘"]),
        ("s s s s", ["│   │   │   │", "╘═══╧═══╧═══╛"]),
        ("e. s", ["│.  │", "└──═╛"]),
        ("s e.", ["│   │.", "╘═──┘"]),
        ("s e s", ["│   │   │", "╘═──┴──═╛"]),
        ("e s s", ["│   │   │", "└───┴═══╛"]),
        ("(e e e)", ["│   │   │", "└───┴───┘", "└───3───┘"]),
        ("(q e)", ["│   │", "│   └╴", "└─3─┘"]),
        ("e re", ["│   7", "└╴"]),
        ("rq rh rw rs", ["}   ▄   ▀   7", "            7"]),
        ("q~ q", ["│___│", "│   │"]),
        ("q.~ e", ["│.__│", "│   └╴"]),
    ],
)
def test_shapes(text, rows):
    assert drawn(text) == rows


def test_beams_stop_at_beats_and_rests():
    groups = beam_groups(stems("e e e e s rs e q e"))
    assert [len(group) for group in groups] == [2, 2, 1, 1, 1]


def test_a_tie_from_the_line_before_comes_in_from_the_left():
    line = stems("q~ q")[1:]
    assert stem_rows(line, 8)[0][0] == "  __│"


def test_only_the_signs_that_were_used_are_told():
    line = stems("q e. s rq")
    assert stem_rows(line, 20)[1] == {"quarter", "eighth", "16th", "dot", "quarter rest"}
