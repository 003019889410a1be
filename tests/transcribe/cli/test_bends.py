"""``takesheet bends``: from a document, from a recording, and every mistake in two lines."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.media import write_media
from tests.signals import bend, hz, placed, plucked
from transcribe.cli.bends import size_from_text, target_from_text
from transcribe.cli.commands import main
from transcribe.errors import SettingsError

RATE_HZ = 22050


def document_file(folder: Path, *, contour: bool = True, bends: bool = True) -> Path:
    """A take document with one plain note and one bent 30 cents short of a whole step."""
    pushed = [
        {"kind": "bend", "start_s": 1.2, "reach_s": 1.35, "end_s": 1.95, "target_cents": 200, "reached_cents": 170}
    ]
    data = {
        "format": "takesheet/take",
        "version": 1,
        "instrument": {"open_strings_midi": [64, 59, 55, 50, 45, 40], "tuning_offset_cents": 5.0},
        "notes": [
            {"id": "n1", "onset_s": 0.2, "offset_s": 0.9, "midi": 60},
            {"id": "n2", "onset_s": 1.0, "offset_s": 2.0, "midi": 62, "bends": pushed if bends else []},
        ],
    }
    if contour:
        cents = [0.0] * 20 + [11.0 * k for k in range(15)] + [170.0] * 60
        data["contour"] = {"hop_s": 0.01, "tracks": [{"note": "n2", "start_s": 1.0, "cents": cents}]}
    path = folder / "lick.take.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def test_a_document_is_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bends", str(document_file(tmp_path))]) == 0
    out = capsys.readouterr().out
    assert "0 of 1 bend in tune" in out
    assert "30.0 cents flat against the guitar's own tuning, 25.0 cents flat against A = 440 Hz" in out


def test_a_wider_tolerance_and_another_target_change_the_verdict(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(document_file(tmp_path))
    main(["bends", path, "--tolerance", "35"])
    assert "1 of 1 bend in tune" in capsys.readouterr().out
    main(["bends", path, "--target", "n2=175", "--json"])
    (measure,) = json.loads(capsys.readouterr().out)["bends"]
    assert (measure["target_cents"], measure["error_cents"], measure["in_tune"]) == (175, -5, True)


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_a_picture_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str], ending: str) -> None:
    picture = tmp_path / "pictures" / f"bends.{ending}"
    assert main(["bends", str(document_file(tmp_path)), "--picture", str(picture)]) == 0
    assert f"picture: {picture}" in capsys.readouterr().out
    assert picture.read_bytes().startswith({"svg": b"<?xml", "png": b"\x89PNG"}[ending])


def test_json_stays_json_when_a_picture_is_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["bends", str(document_file(tmp_path)), "--picture", str(tmp_path / "a.svg"), "--json"])
    said = capsys.readouterr()
    assert json.loads(said.out)["take"] == "lick.take.json"
    assert "picture:" in said.err


def test_no_bends_is_an_answer_not_a_mistake(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = document_file(tmp_path, bends=False)
    assert main(["bends", str(path), "--picture", str(tmp_path / "a.svg")]) == 0
    out = capsys.readouterr().out
    assert "no note of this take is bent" in out
    assert "no picture" in out
    assert not (tmp_path / "a.svg").exists()


def test_a_document_without_curves_is_measured_but_not_drawn(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = document_file(tmp_path, contour=False)
    assert main(["bends", str(path), "--picture", str(tmp_path / "a.svg")]) == 0
    out = capsys.readouterr().out
    assert "30.0 cents flat" in out
    assert "no picture: the document holds no pitch curve" in out


def test_a_recording_is_heard_and_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A whole-step bend that stops 40 cents short, by formula, on a guitar 12 cents flat."""
    low = -12.0
    curve = bend(hz(62, low), 160.0, 1.4, start_s=0.25, reach_s=0.42, rate_hz=RATE_HZ)
    steady = [(0.3 + 0.45 * k, plucked(np.full(9000, hz(m, low)), rate_hz=RATE_HZ)) for k, m in enumerate((57, 60, 62))]
    sound = placed(*steady, (1.8, plucked(curve, rate_hz=RATE_HZ)), seconds=3.5, rate_hz=RATE_HZ)
    path = write_media(tmp_path / "lick.wav", sound.astype(np.float32), RATE_HZ)
    assert main(["bends", str(path), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["tuning_offset_cents"] == pytest.approx(low, abs=3)
    (measure,) = data["bends"]
    assert measure["target_cents"] == 200
    assert measure["error_cents"] == pytest.approx(-40, abs=5)
    assert measure["error_from_reference_cents"] == pytest.approx(-40 + low, abs=5)
    assert measure["start_s"] == pytest.approx(2.05, abs=0.06)
    assert measure["time_to_reach_s"] == pytest.approx(0.17, abs=0.07)


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["--target", "n2"], "no such target: 'n2'"),
        (["--target", "n2=huge"], "no such bend: 'huge'"),
        (["--target", "n2=2"], "'2' is steps or cents?"),
        (["--target", "n1=full"], "note n1 is not bent"),
        (["--target", "n8=full"], "there is no note n8"),
        (["--tolerance", "0"], "a tolerance of 0 cents"),
        (["--tolerance", "nan"], "a tolerance of nan cents"),
        (["--picture", "bends.gif"], "no such picture format"),
    ],
)
def test_a_mistake_gets_two_lines(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], found: str
) -> None:
    assert main(["bends", str(document_file(tmp_path)), *words]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert found in lines[0]


@pytest.mark.parametrize(
    ("name", "found"), [("missing.wav", "no such file"), ("missing.take.json", "missing.take.json")]
)
def test_a_missing_file(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, found: str) -> None:
    assert main(["bends", str(tmp_path / name)]) == 2
    assert found in capsys.readouterr().err


def test_a_picture_that_cannot_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").touch()
    assert main(["bends", str(document_file(tmp_path)), "--picture", str(tmp_path / "file" / "a.svg")]) == 2
    assert "is a file, not a folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "cents"),
    [("quarter", 50), ("half", 100), ("full", 200), ("whole step", 200), ("1 1/2", 300), ("1/4", 50), ("3/4", 150),
     ("2 steps", 400), ("1.5 steps", 300), ("1 step", 200), ("150", 150), ("185.5 cents", 185.5), ("15c", 15)],
)  # fmt: skip
def test_sizes_of_the_trade(words: str, cents: float) -> None:
    """A step is a whole tone, 200 cents, and bends are told in its fractions (common practice)."""
    assert size_from_text(words) == cents


@pytest.mark.parametrize("words", ["", "-100", "1/0", "5000", "full full", "nan", "4 steps"])
def test_sizes_nobody_could_mean(words: str) -> None:
    with pytest.raises(SettingsError):
        size_from_text(words)


def test_a_target_names_its_note() -> None:
    assert target_from_text(" n12 = 1 1/2 ") == ("n12", 300.0)
