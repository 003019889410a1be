"""One line or strings together: found out from the sound, or told."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from transcribe.choices import TakeChoices
from transcribe.pipeline import draft_take

FIXTURES = Path(__file__).parents[2] / "fixtures"
ARPEGGIO = FIXTURES / "real" / "guit_em9.flac"  # B3, F sharp 4, G4, D5, E2, all ringing on


def test_ringing_strings_are_heard_together():
    document = draft_take(ARPEGGIO)
    first = [take.note for take in document.notes if take.note.onset_s < 1.0]
    assert {note.midi for note in first} >= {59, 66, 74}
    assert any(one.offset_s > other.onset_s + 0.1 for one, other in pairwise(first))


def test_a_person_may_say_that_it_is_one_line():
    document = draft_take(ARPEGGIO, replace(TakeChoices(), voices="one"))
    notes = [take.note for take in document.notes]
    assert all(one.offset_s <= other.onset_s + 0.05 for one, other in pairwise(notes))


def test_a_single_line_has_the_same_notes_and_gestures_by_the_tracked_line_alone():
    """Asked as well, the network of several strings tells where notes end, and they are surer."""
    take = FIXTURES / "takes" / "lamp-room.sampled-clean.flac"
    both, one = (draft_take(take, TakeChoices(voices=way)) for way in ("auto", "one"))
    told = [
        [(note.onset_s, note.midi, note.attack, note.slide, note.vibrato) for note in (x.note for x in document.notes)]
        for document in (both, one)
    ]
    assert told[0] == told[1]
    assert [len(x.note.bends) for x in both.notes] == [len(x.note.bends) for x in one.notes]
    sure = [sum(item.note.confidence for item in document.notes) for document in (both, one)]
    assert sure[0] >= sure[1] - 1e-9
