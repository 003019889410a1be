import pytest

from transcribe.cli.options import seconds_from_text
from transcribe.errors import SettingsError


@pytest.mark.parametrize(
    ("text", "seconds"), [("83.5", 83.5), ("1:23.5", 83.5), ("0:07", 7), ("1:02:03", 3723), ("0", 0), (None, None)]
)
def test_times_are_read_as_people_write_them(text, seconds):
    assert seconds_from_text(text) == seconds


@pytest.mark.parametrize("text", ["", "-3", "1:2:3:4", "one", "1:234:5", "nan", "1e3"])
def test_what_is_no_time_is_refused_with_how_to_write_one(text):
    with pytest.raises(SettingsError, match="no such time"):
        seconds_from_text(text)
