"""Words about the neck, as they are typed."""

import pytest

from transcribe.cli.neck_words import (
    bars_from_text,
    frets_from_text,
    lock_from_text,
    picking_from_text,
    profile_from_text,
    strings_from_text,
)
from transcribe.errors import SettingsError
from transcribe.wishes import Lock


@pytest.mark.parametrize(
    ("words", "strings"),
    [("4-6", {4, 5, 6}), ("1, 3", {1, 3}), ("2", {2}), ("1-2,5-6", {1, 2, 5, 6}), ("1–3", {1, 2, 3})],
)
def test_strings(words, strings):
    assert strings_from_text(words) == strings


@pytest.mark.parametrize("words", ["", "a", "6-4", "1-", "-3", "1;2", "1.5"])
def test_no_strings_no_frets_no_bars(words):
    for read in (strings_from_text, frets_from_text, bars_from_text):
        with pytest.raises(SettingsError) as refused:
            read(words)
        assert refused.value.mend


@pytest.mark.parametrize(
    ("words", "lock"),
    [
        ("n3=2:10", Lock("n3", 2, 10)),
        ("n3=2:10:4", Lock("n3", 2, 10, 4)),
        (" n3 = 2 : 10 ", Lock("n3", 2, 10)),
        ("n3=2:", Lock("n3", 2)),
        ("n3=2", Lock("n3", 2)),
        ("n3=:10", Lock("n3", None, 10)),
        ("n3=-:-:4", Lock("n3", None, None, 4)),
        ("a=b=2:10", Lock("a=b", 2, 10)),
    ],
)
def test_locks(words, lock):
    assert lock_from_text(words) == lock


@pytest.mark.parametrize("words", ["n3", "=2:10", "n3=", "n3=::", "n3=2:10:4:1", "n3=two:10", "n3=2/10", "n3=-2:10"])
def test_no_locks(words):
    with pytest.raises(SettingsError, match="no such lock"):
        lock_from_text(words)


def test_names_may_be_cut_short_while_they_are_clear():
    assert profile_from_text("Classical") == "classical"
    assert picking_from_text("pick and fingers") == "pick and fingers"
    for words in ("", "c", "jazz"):
        with pytest.raises(SettingsError, match="no such profile") as refused:
            profile_from_text(words)
        assert "lead line" in refused.value.mend
