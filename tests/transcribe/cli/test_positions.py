"""``takesheet positions``: every kind of music in, ways side by side, one kept; every mistake in two lines."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.midi_files import line, midi_file
from transcribe.cli.commands import main
from transcribe.cli.corrections import refuse_to_lose_corrections
from transcribe.document.check import check_document
from transcribe.document.read import read_document
from transcribe.errors import WriteError
from transcribe.score.build import build_score
from transcribe.write.draft_files import draft_files
from transcribe.write.musicxml import musicxml_bytes

FIXTURES = Path(__file__).parents[3] / "fixtures"
LICK = FIXTURES / "reference" / "lamp-room.sampled-clean.take.json"
TUNES = FIXTURES / "tunes"
TAKE = FIXTURES / "takes" / "lamp-room.sampled-clean.flac"


@pytest.fixture
def document(tmp_path: Path) -> Path:
    """A shipped lick as a teacher would have it: the take document and the draft's other files."""
    path = tmp_path / "lick.take.json"
    for ending, data in draft_files(read_document(LICK), title="lick").items():
        path.with_name(f"lick{ending}").write_bytes(data)
    return path


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")


def places(path: Path) -> dict[str, tuple[int, int, int | None]]:
    return {
        take.id: (take.placement.string, take.placement.fret, take.placement.finger)
        for take in read_document(path).notes
        if take.placement is not None
    }


def test_ways_stand_side_by_side_with_reasons(document: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = document.read_bytes()
    assert main(["positions", str(document), "--alternatives", "2"]) == 0
    out = capsys.readouterr().out
    assert "3 ways, easiest first (profile: lead line; alternate pick)" in out
    assert any(row.startswith("G|-7b9r7p5") and "G|" in row[2:] for row in out.splitlines()), "two tabs in one row"
    assert "hand: stays in 5th position" in out
    assert "sound: darker" in out
    assert "nothing written; --use 2 puts that way into" in out
    assert document.read_bytes() == before


@pytest.mark.parametrize("columns", [40, 60, 100, 200])
def test_the_page_keeps_to_the_terminal(
    document: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    main(["positions", str(document)])
    page = capsys.readouterr().out.split("nothing written")[0].splitlines()
    assert max(len(row) for row in page) <= columns
    assert sum(row.count("n1 ") for row in page if " n2 " in row) == 4, "every way is shown"


def test_a_way_is_kept_in_the_document_and_the_files_beside_it(
    document: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drafted = {ending: document.with_name(f"lick{ending}").read_bytes() for ending in (".tab.txt", ".musicxml", ".mid")}
    assert main(["positions", str(document), "--use", "2"]) == 0
    said = capsys.readouterr().out
    assert f"written: {document}" in said
    assert places(document)["n3"][:2] == (5, 12)
    assert "12b14r12p10" in document.with_name("lick.tab.txt").read_text(encoding="utf-8")
    assert all(document.with_name(f"lick{ending}").read_bytes() != data for ending, data in drafted.items())


def test_the_way_that_the_document_has_is_marked(document: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["positions", str(document), "--use", "2"])
    main(["positions", str(document), "--alternatives", "0"])
    assert "as the document has it" not in capsys.readouterr().out
    main(["positions", str(document), "--use", "1"])
    main(["positions", str(document), "--alternatives", "0"])
    assert "(as the document has it)" in capsys.readouterr().out


def test_a_tab_that_somebody_changed_is_left_alone(document: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tab = document.with_name("lick.tab.txt")
    tab.write_text("play it like you mean it\n", encoding="utf-8")
    main(["positions", str(document), "--use", "2"])
    assert "left as they are, because they are not what the document gave before: lick.tab.txt" in (
        capsys.readouterr().out
    )
    assert tab.read_text(encoding="utf-8") == "play it like you mean it\n"


def test_every_file_of_the_draft_is_renewed_with_the_document(
    document: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also the JAMS file, also when a lock is all that changes: each is then what the document gives now."""
    first = read_document(document)
    jams = document.with_name("lick.jams")
    jams.write_bytes(draft_files(first, title="lick", also=("jams",))[".jams"])
    for words in (["--lock", "n3=5:12:3"], ["--unlock", "n3"], ["--profile", "classical"]):
        main(["positions", str(document), *words, "--use", "1"])
        now = draft_files(read_document(document), title="lick", also=("jams",))
        for ending, data in now.items():
            assert document.with_name(f"lick{ending}").read_bytes() == data, (words, ending)
    assert "left as they are" not in capsys.readouterr().out


def test_a_changed_jams_file_is_left_alone_and_a_sheet_is_told(
    document: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    jams, sheet = document.with_name("lick.jams"), document.with_name("lick.pdf")
    jams.write_text("{}", encoding="utf-8")
    sheet.write_bytes(b"%PDF")
    document.with_name("lick two.pdf").write_bytes(b"%PDF")
    main(["positions", str(document), "--use", "2"])
    told = capsys.readouterr().out
    assert "before: lick.jams" in told
    assert "to be made again with sheet: lick.pdf\n" in told
    assert (jams.read_text(encoding="utf-8"), sheet.read_bytes()) == ("{}", b"%PDF")


def test_what_is_fixed_stays_fixed_in_every_later_run(document: Path) -> None:
    main(["positions", str(document), "--lock", "n3=5:12:3", "--use", "1"])
    main(["positions", str(document), "--profile", "classical", "--use", "1"])
    assert places(document)["n3"] == (5, 12, 3)
    note = next(take for take in read_document(document).notes if take.id == "n3")
    assert set(note.locked) == {"string", "fret", "finger"}
    main(["positions", str(document), "--unlock", "n3", "--profile", "lead line", "--use", "1"])
    assert places(document)["n3"][:2] == (4, 7)


def test_a_limit_holds_for_every_note(document: Path) -> None:
    main(["positions", str(document), "--shape", "C of A", "--use", "1"])
    frets = [fret for _, fret, _ in places(document).values()]
    assert (min(frets), max(frets)) == (9, 12), "the C-shape of A stands at fret 9: frets 8 to 13"
    main(["positions", str(document), "--strings", "1-3", "--use", "1"])
    assert {string for string, _, _ in places(document).values()} <= {1, 2, 3}
    main(["positions", str(document), "--position", "5", "--use", "1"])
    assert {take.position for take in read_document(document).notes} == {5}


def test_only_the_bars_asked_for_are_moved(document: Path) -> None:
    before = places(document)
    main(["positions", str(document), "--bars", "2", "--frets", "9-14", "--use", "1"])
    after = places(document)
    first_bar = [f"n{k}" for k in range(1, 7)]
    assert [after[name] for name in first_bar] == [before[name] for name in first_bar]
    assert all(9 <= after[f"n{k}"][1] <= 14 for k in range(7, 12))


def test_why_a_note_lies_there(document: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["positions", str(document), "--why", "n3"])
    out = capsys.readouterr().out
    assert "n3: string 4, 7th fret" in out
    assert "rather than string" in out


def test_json_is_a_take_document_with_all_ways_beside_it(document: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["positions", str(document), "--alternatives", "1", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    check_document(data)
    first, second = data["alternatives"]
    assert [way["use"] for way in (first, second)] == [1, 2]
    assert first["effort"] <= second["effort"]
    held = [(note["id"], note["string"], note["fret"], note["finger"]) for note in data["notes"]]
    assert held == [(at["note"], at["string"], at["fret"], at["finger"]) for at in first["placements"]]
    assert any("darker" in reason for reason in second["reasons"])


def test_a_midi_file_is_placed_and_kept_as_a_draft(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tune = tmp_path / "tune.mid"
    tune.write_bytes(midi_file(line((57, 60, 62, 64, (60, 64, 67)))))
    assert main(["positions", str(tune), "--use", "1", "--out", str(tmp_path / "lesson")]) == 0
    assert "written:" in capsys.readouterr().out
    written = tmp_path / "lesson" / "tune.take.json"
    found = places(written)
    assert len(found) == 7
    assert len({string for name, (string, _, _) in found.items() if name in ("n5", "n6", "n7")}) == 3
    assert sorted(path.name for path in written.parent.iterdir()) == [
        "tune.mid", "tune.musicxml", "tune.tab.txt", "tune.take.json",
    ]  # fmt: skip


def test_midi_and_musicxml_of_one_tune_are_played_alike(capsys: pytest.CaptureFixture[str]) -> None:
    """A sixth skips one string, a closed triad lies on three neighbours (common practice)."""
    found = []
    for ending in ("mid", "musicxml"):
        words = ["positions", str(TUNES / f"harbour-sixths.{ending}"), "--profile", "country", "--json"]
        assert main(words) == 0
        data = json.loads(capsys.readouterr().out)
        found.append(
            [(note["midi"], note["string"], note["fret"], note["bar"], note["beat"]) for note in data["notes"]]
        )
    assert found[0] == found[1]
    strings = [string for _, string, *_ in found[0]]
    sixths, chord = strings[:-3], strings[-3:]
    assert {low - high for high, low in zip(sixths[::2], sixths[1::2], strict=True)} == {2}
    assert [string - chord[0] for string in chord] == [0, 1, 2]


def test_a_musicxml_file_is_placed_with_no_audio(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "named-anyhow.txt"  # known by what it holds
    path.write_bytes(musicxml_bytes(build_score(read_document(LICK), title="lick")))
    assert main(["positions", str(path), "--alternatives", "0"]) == 0
    out = capsys.readouterr().out
    assert "7b9r7p5" in out
    assert "nothing written; --use 1 --out drafts keeps that way as a draft" in out


def test_a_recording_is_drafted_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["positions", str(TAKE), "--key", "A minor", "--shape", "E", "--alternatives", "1", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert len(data["notes"]) == 11
    assert {4 <= note["fret"] <= 9 for note in data["notes"]} == {True}
    assert data["shapes"][0]["name"].startswith("E-shape")


def test_a_document_with_nothing_to_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "empty.take.json"
    head = {"format": "takesheet/take", "version": 1, "instrument": {"open_strings_midi": [64, 59, 55, 50, 45, 40]}}
    path.write_text(json.dumps(head), encoding="utf-8")
    assert main(["positions", str(path)]) == 0
    assert "holds no notes" in capsys.readouterr().out


def test_what_cannot_be_played_is_told_not_hidden(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A pitch below the lowest string and seven notes at once."""
    tune = tmp_path / "tune.mid"
    tune.write_bytes(midi_file(line((30, 60, (40, 47, 52, 56, 59, 64, 67)))))
    assert main(["positions", str(tune), "--alternatives", "0"]) == 0
    out = capsys.readouterr().out
    assert "look at n1: the pitch is not on this neck" in out
    assert "more notes at once than strings and" in out
    assert "not all of it can be played as written" in out


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["--lock", "n3=2:10"], "note n3 does not lie on string 2 fret 10"),
        (["--lock", "n3"], "no such lock: 'n3'"),
        (["--lock", "n99=2:10"], "there is no note n99"),
        (["--unlock", "n99"], "there is no note n99"),
        (["--why", "n99"], "there is no note n99"),
        (["--lock", "n1=3:7:1", "--lock", "n2=4:10"], "notes n1 and n2 are joined by a pull-off"),
        (["--lock", "n3=4:7", "--frets", "9-12"], "note n3 is fixed outside"),
        (["--frets", "9-5"], "no such frets: '9-5' runs backwards"),
        (["--frets", "high"], "no such frets"),
        (["--frets", "5-9", "--shape", "E at 12"], "frets 5 to 9 and the shape (frets 11 to 16) do not meet"),
        (["--strings", "4-9"], "this guitar has 6 strings"),
        (["--position", "30"], "there is no position 30"),
        (["--shape", "H"], "no such shape: 'H'"),
        (["--shape", "E at 21"], "does not fit a neck"),
        (["--bars", "7-9"], "no note begins in bars 7 to 9"),
        (["--profile", "jazz"], "no such profile: 'jazz'"),
        (["--picking", "teeth"], "no such way of picking: 'teeth'"),
        (["--alternatives", "-1"], "--alternatives -1"),
        (["--use", "9"], "there is no way 9"),
        (["--out", "somewhere"], "--out says where, but not which way to keep"),
    ],
)
def test_a_mistake_gets_two_lines_and_changes_nothing(
    document: Path, capsys: pytest.CaptureFixture[str], words: list[str], found: str
) -> None:
    before = document.read_bytes()
    assert main(["positions", str(document), *words]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert found in lines[0]
    assert document.read_bytes() == before


def test_a_list_of_ways_saved_with_a_document_is_not_kept_when_one_is_chosen(document: Path) -> None:
    data = json.loads(document.read_text(encoding="utf-8"))
    document.write_text(json.dumps({**data, "alternatives": [{"use": 1}], "mine": 7}), encoding="utf-8")
    main(["positions", str(document), "--use", "2"])
    kept = json.loads(document.read_text(encoding="utf-8"))
    assert "alternatives" not in kept
    assert kept["mine"] == 7


def test_nothing_is_heard_before_it_is_known_where_to_write(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("transcribe.pipeline.draft_take", None)
    assert main(["positions", str(TAKE), "--use", "1"]) == 2
    assert "is no take document to write into" in capsys.readouterr().err


def test_a_midi_file_is_no_place_to_write_into(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tune = tmp_path / "tune.mid"
    tune.write_bytes(midi_file(line((57, 60))))
    assert main(["positions", str(tune), "--use", "1"]) == 2
    assert "is no take document to write into" in capsys.readouterr().err
    assert main(["positions", str(tune), "--use", "1", "--out", str(tmp_path)]) == 2
    assert "is the file that was read, and would be lost" in capsys.readouterr().err
    assert tune.read_bytes() == midi_file(line((57, 60)))


def test_another_document_that_was_corrected_is_not_written_over(
    document: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "lesson" / "lick.take.json"
    other.parent.mkdir()
    shutil.copy(document, other)
    main(["positions", str(other), "--lock", "n3=5:12", "--use", "1"])
    kept = other.read_bytes()
    capsys.readouterr()
    assert main(["positions", str(document), "--use", "1", "--out", str(other.parent)]) == 2
    assert "holds corrections made by a person" in capsys.readouterr().err
    assert other.read_bytes() == kept
    assert main(["positions", str(other), "--use", "1", "--out", str(other.parent)]) == 0, "its own folder is its own"


def test_a_place_that_was_chosen_is_not_lost_to_a_new_draft(document: Path, capsys: pytest.CaptureFixture[str]) -> None:
    refuse_to_lose_corrections(document)
    assert main(["positions", str(document), "--use", "1"]) == 0
    with pytest.raises(WriteError, match="a place on the neck that a person chose"):
        refuse_to_lose_corrections(document)
    assert main(["positions", str(document), "--use", "2"]) == 0, "another choice takes its place"


def test_a_document_that_may_not_be_written_is_told_how_to_be_kept_elsewhere(
    document: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import os

    monkeypatch.setattr(os, "access", lambda path, mode: False)
    assert main(["positions", str(document), "--use", "2"]) == 2
    said = capsys.readouterr().err
    assert "not allowed to write" in said
    assert "Name another folder with --out, or change its rights." in said
