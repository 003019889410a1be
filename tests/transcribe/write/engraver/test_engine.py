"""The runtime's errors reach the reader in one short line."""

from __future__ import annotations

import pytest

from transcribe.errors import WriteError
from transcribe.write.engraver.engine import LONGEST_ERROR, run, shortened


def test_a_failure_of_the_library_is_told_in_one_line() -> None:
    with pytest.raises(WriteError, match="could not draw the sheet") as caught:
        run({"key": "H", "meter": "4/4", "glyphs": [], "slots": []})
    assert "\n" not in caught.value.found
    assert len(caught.value.found) < LONGEST_ERROR + 60


def test_long_messages_are_cut() -> None:
    assert len(shortened("x" * 5000)) == LONGEST_ERROR
    assert shortened("Error: bad\n  at library line 2") == "Error: bad"
