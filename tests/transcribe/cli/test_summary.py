"""The lines under a draft in the terminal."""

from dataclasses import replace

from tests.golden.licks import doubted
from transcribe.cli.summary import summary
from transcribe.document.analyse import HARMONY
from transcribe.notes.note import Doubt


def test_the_option_that_settles_the_key_is_named_in_the_terminal():
    """Where the sheet says it in words of music alone."""
    unsure = replace(doubted(), doubts=(Doubt("the key could also be C major", about=HARMONY), Doubt("soft", "n1")))
    told = summary(unsure).splitlines()
    assert "  the take: the key could also be C major; --key settles it" in told
    assert not any("--" in line for line in told if "soft" in line)
