from fractions import Fraction

from fingering.passage import Placement
from transcribe.document.assemble import assemble
from transcribe.document.model import Instrument
from transcribe.notes.note import Doubt, Note
from transcribe.rhythm.rhythm import Timing

NOTES = (Note("b", 0.5, 0.9, 62), Note("a", 0.0, 0.4, 60))


def test_each_note_keeps_its_own_place_and_time_in_order_of_onset():
    document = assemble(
        NOTES,
        timings={"a": Timing(1, Fraction(0), Fraction(1))},
        placements=[Placement("b", 2, 3, 1)],
        doubts=[],
        instrument=Instrument(),
    )
    first, second = document.notes
    assert (first.id, first.placement, first.timing.bar) == ("a", None, 1)
    assert (second.id, second.placement.fret, second.timing) == ("b", 3, None)


def test_doubts_follow_their_notes_after_those_of_the_take_and_are_told_once():
    doubts = [Doubt("late", "b"), Doubt("early", "a"), Doubt("whole"), Doubt("early", "a")]
    document = assemble(NOTES, timings={}, placements=[], doubts=doubts, instrument=Instrument())
    assert [doubt.why for doubt in document.doubts] == ["whole", "early", "late"]
