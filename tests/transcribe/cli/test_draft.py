"""The first command, from words typed to files on disk: real takes in, and every mistake a person can make."""

import json
import os
import wave
from pathlib import Path

import numpy as np
import pytest

from transcribe.cli.commands import main

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "fixtures" / "takes" / "lamp-room.bright-electric.flac"
SUFFIXES = (".take.json", ".tab.txt", ".musicxml", ".mid")


def write_wav(path: Path, samples: np.ndarray, rate_hz: int = 22050) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def tone(seconds: float, pitch_hz: float = 220.0, level: float = 0.3, rate_hz: int = 22050) -> np.ndarray:
    times_s = np.arange(int(seconds * rate_hz)) / rate_hz
    partials = sum(np.sin(2 * np.pi * pitch_hz * k * times_s) / k for k in range(1, 8))
    return level * partials * np.exp(-1.5 * times_s)


def mistake(capsys, *words: str) -> list[str]:
    """Lines on standard error of a command that must fail as a person's mistake."""
    assert main(list(words)) == 2
    printed = capsys.readouterr()
    lines = printed.err.strip().splitlines()
    assert "Traceback" not in printed.err
    assert len(lines) == 2, f"one line on what is wrong and one on how to mend it, got: {lines}"
    assert lines[0].startswith("takesheet: ")
    return lines


def test_a_take_becomes_four_files_and_a_tab(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")
    assert main(["draft", str(DEMO), "--out", str(tmp_path / "lesson")]) == 0
    assert sorted(path.name for path in (tmp_path / "lesson").iterdir()) == sorted(f"{DEMO.stem}{s}" for s in SUFFIXES)
    printed = capsys.readouterr().out
    assert "tempo" in printed
    assert (tmp_path / "lesson" / f"{DEMO.stem}.tab.txt").read_text(encoding="utf-8").strip() in printed


def test_json_prints_the_document_alone(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["draft", str(DEMO), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == "takesheet/take"
    assert document["notes"]
    assert list(tmp_path.iterdir()) == []


def test_several_takes_side_by_side_come_out_in_order(tmp_path, capsys):
    second = tmp_path / "second.flac"
    second.write_bytes(DEMO.read_bytes())
    assert main(["draft", str(DEMO), str(second), "--jobs", "2", "--out", str(tmp_path / "out")]) == 0
    printed = capsys.readouterr().out
    assert printed.index(DEMO.stem) < printed.index("second")
    assert len(list((tmp_path / "out").iterdir())) == 8


def test_one_bad_take_does_not_stop_the_others(tmp_path, capsys):
    assert main(["draft", str(tmp_path / "none.wav"), str(DEMO), "--out", str(tmp_path / "out")]) == 2
    assert (tmp_path / "out" / f"{DEMO.stem}.mid").exists()
    assert "none.wav" in capsys.readouterr().err


def test_a_passage_keeps_the_time_of_the_file(tmp_path):
    assert main(["draft", str(DEMO), "--from", "1.0", "--out", str(tmp_path)]) == 0
    document = json.loads((tmp_path / f"{DEMO.stem}.take.json").read_text(encoding="utf-8"))
    assert min(note["onset_s"] for note in document["notes"]) >= 0.95


def test_a_missing_file(tmp_path, capsys):
    assert "no such file" in mistake(capsys, "draft", str(tmp_path / "nothing.wav"))[0]


def test_a_file_that_is_no_sound(tmp_path, capsys):
    (tmp_path / "notes.wav").write_text("this is a shopping list")
    mistake(capsys, "draft", str(tmp_path / "notes.wav"), "--out", str(tmp_path / "out"))
    assert not (tmp_path / "out").exists()


def test_silence(tmp_path, capsys):
    take = write_wav(tmp_path / "silence.wav", np.zeros(44100))
    assert "silen" in mistake(capsys, "draft", str(take), "--out", str(tmp_path / "out"))[0]


def test_ten_milliseconds(tmp_path, capsys):
    take = write_wav(tmp_path / "blip.wav", tone(0.01))
    assert "short" in mistake(capsys, "draft", str(take), "--out", str(tmp_path / "out"))[0]


def test_an_overloaded_recording(tmp_path, capsys):
    take = write_wav(tmp_path / "loud.wav", tone(2.0, level=30.0))
    assert "--accept-clipping" in mistake(capsys, "draft", str(take), "--out", str(tmp_path / "out"))[1]
    assert main(["draft", str(take), "--out", str(tmp_path / "out"), "--accept-clipping"]) == 0


def test_more_than_the_longest_take_is_refused_before_it_is_heard(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("transcribe.long_take.LONGEST_HOURS", 0.1)
    rate_hz = 8000
    take = write_wav(tmp_path / "talk.wav", np.tile(tone(1.0, 150.0, rate_hz=rate_hz), 400), rate_hz)
    assert "--from" in mistake(capsys, "draft", str(take), "--out", str(tmp_path / "out"))[1]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--tuning", "banjo of doom"], "tuning"),
        (["--capo", "30"], "capo"),
        (["--capo", "-1"], "capo"),
        (["--frets", "0"], "fret"),
        (["--tempo", "0"], "tempo"),
        (["--meter", "4"], "meter"),
        (["--key", "H"], "key"),
        (["--reference", "100"], "reference"),
        (["--from", "soon"], "time"),
        (["--from", "900"], "end"),
        (["--from", "3", "--to", "2"], "before"),
        (["--jobs", "0"], "--jobs"),
        (["--scale-length", "2"], "scale"),
    ],
)
def test_settings_nobody_could_use(tmp_path, capsys, options, says):
    assert says in mistake(capsys, "draft", str(DEMO), "--out", str(tmp_path / "out"), *options)[0]
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written(tmp_path, capsys):
    (tmp_path / "out").write_text("a file where the folder should be")
    assert "out" in mistake(capsys, "draft", str(DEMO), "--out", str(tmp_path / "out"))[0]
    assert (tmp_path / "out").read_text() == "a file where the folder should be"


def test_two_takes_of_one_name_would_overwrite_each_other(tmp_path, capsys):
    other = tmp_path / f"{DEMO.stem}.wav"
    assert "both" in mistake(capsys, "draft", str(DEMO), str(other))[0]


def test_a_draft_corrected_by_a_person_is_never_overwritten(tmp_path, capsys):
    assert main(["draft", str(DEMO), "--out", str(tmp_path)]) == 0
    capsys.readouterr()
    path = tmp_path / f"{DEMO.stem}.take.json"
    document = json.loads(path.read_text(encoding="utf-8"))
    document["notes"][0]["locked"] = ["string"]
    path.write_text(json.dumps(document), encoding="utf-8")
    before = {p: p.read_bytes() for p in tmp_path.iterdir()}
    mistake(capsys, "draft", str(DEMO), "--out", str(tmp_path))
    assert {p: p.read_bytes() for p in tmp_path.iterdir()} == before


@pytest.mark.parametrize("text", ["{", "[]", "7", '{"notes": null}', '{"notes": [3]}', "\udcff"])
def test_a_file_that_is_no_draft_of_ours_is_never_overwritten(tmp_path, capsys, text):
    path = tmp_path / f"{DEMO.stem}.take.json"
    path.write_bytes(text.encode("utf-8", "surrogateescape"))
    before = path.read_bytes()
    mistake(capsys, "draft", str(DEMO), "--out", str(tmp_path))
    assert path.read_bytes() == before


def test_a_failed_write_leaves_nothing_half_done(tmp_path, monkeypatch, capsys):
    def full(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    assert main(["draft", str(DEMO), "--out", str(tmp_path / "out")]) == 2
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == []


def test_an_old_or_newer_document_is_refused_in_words(tmp_path, capsys):
    path = tmp_path / "old.take.json"
    for version in (0, 2):
        path.write_text(json.dumps({"format": "takesheet/take", "version": version, "notes": []}))
        assert f"version {version}" in mistake(capsys, "score", str(path), str(path))[0]
