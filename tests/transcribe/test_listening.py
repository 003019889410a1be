"""A file to what is heard in it."""

from fixtures.render import HERE
from transcribe import listening
from transcribe.choices import TakeChoices
from transcribe.settings import Settings

LAMP_ROOM = HERE / "takes" / "lamp-room.bright-electric.flac"


def test_at_another_reference_a_second_tracker_agrees_as_before():
    """A lick at 440 Hz told against an A a semitone lower: every number is one higher, what sounds is the same."""
    doubts = []
    for reference_hz in (440.0, 415.3):
        choices = TakeChoices(voices="one", second_opinion=True, reference_hz=reference_hz)
        told = listening.listen(LAMP_ROOM, choices, Settings(), lambda *_: None, length_s=None)
        doubts.append([doubt.note for doubt in told.heard.doubts if "second tracker" in doubt.why])
    assert doubts[0] == doubts[1]
    assert len(doubts[0]) < 3
