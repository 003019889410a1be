"""The lines under a draft in the terminal."""

from dataclasses import replace

from fingering.cautions import ADVICE
from tests.golden.licks import Page, bends, doubted
from transcribe.cli.summary import summary
from transcribe.document.analyse import HARMONY
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt


def test_the_option_that_settles_the_key_is_named_in_the_terminal():
    """Where the sheet says it in words of music alone."""
    unsure = replace(doubted(), doubts=(Doubt("the key could also be C major", about=HARMONY), Doubt("soft", "n1")))
    told = summary(unsure).splitlines()
    assert "  the take: the key could also be C major; --key settles it" in told
    assert not any("--" in line for line in told if "soft" in line)


def test_places_are_told_as_on_the_sheet():
    """A quarter before bar 1 of 4/4 is beat 4; a quarter of a beat is no decimal."""
    told = summary(replace(bends(), doubts=(Doubt("soft", "n2"),))).splitlines()
    assert "  pickup, beat 4½ (n2, D4): soft" in told


def test_notes_are_spelled_by_the_key():
    page = Page()
    for fret in (1, 6):
        page.note("2", 3, fret)
    lick = page.document(key=Key("F#", "major"), doubts=(Doubt("soft", "n1"), Doubt("low", "n2")))
    assert [line.partition(":")[0] for line in summary(lick).splitlines()[-2:]] == [
        "  bar 1, beat 1 (n1, G#3)",
        "  bar 1, beat 3 (n2, C#4)",
    ]


def test_care_for_the_hands_is_told_apart_with_its_advice_once():
    page = Page()
    for _ in range(20):
        page.note("1", 3, 7)
    care = tuple(Doubt(f"take care: more than 8 wide bends. {ADVICE}", f"n{k}") for k in (1, 5, 9, 13, 17))
    told = summary(page.document(doubts=care)).splitlines()
    assert told[-4:] == [
        "nothing doubted",
        "take care of your hands:",
        "  bars 1 to 5 (n1, D4; n5, D4; n9, D4; and 2 more): more than 8 wide bends",
        f"  {ADVICE}",
    ]
