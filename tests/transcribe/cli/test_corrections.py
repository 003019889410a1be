"""What a person corrected is never written over."""

import json

import pytest

from transcribe.cli.corrections import refuse_to_lose_corrections
from transcribe.errors import WriteError

NOTE = {"id": "n1", "onset_s": 0, "offset_s": 1, "midi": 60}


def file_of(folder, data):
    path = folder / "lick.take.json"
    path.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "data",
    [
        {"notes": [NOTE, {**NOTE, "id": "n2", "locked": ["string"]}]},
        {"notes": [NOTE], "chords": [{"symbol": "A", "locked": ["symbol"]}]},
        {"notes": [NOTE], "locked": ["about"]},
        "no JSON at all",
        [1, 2],
        {"notes": None},
    ],
)
def test_corrections_and_files_of_others_are_refused(tmp_path, data):
    with pytest.raises(WriteError) as refused:
        refuse_to_lose_corrections(file_of(tmp_path, data))
    assert "corrections made by a person" in refused.value.found
    assert refused.value.mend == "Choose another --out folder, or move that file away first."


@pytest.mark.parametrize("data", [{"notes": [NOTE]}, {"notes": [{**NOTE, "locked": []}], "chords": None, "locked": []}])
def test_a_plain_draft_may_be_written_over(tmp_path, data):
    path = file_of(tmp_path, data)
    kept = path.read_bytes()
    refuse_to_lose_corrections(path)
    refuse_to_lose_corrections(tmp_path / "nothing.take.json")
    assert path.read_bytes() == kept  # asked about, not touched
    assert not (tmp_path / "nothing.take.json").exists()


def test_a_chosen_place_is_kept_from_a_new_draft_but_not_from_a_new_choice(tmp_path):
    path = file_of(tmp_path, {"notes": [NOTE], "tool": {"settings": {"place": "chosen"}}})
    with pytest.raises(WriteError, match="a place on the neck that a person chose"):
        refuse_to_lose_corrections(path)
    refuse_to_lose_corrections(path, choosing=True)
