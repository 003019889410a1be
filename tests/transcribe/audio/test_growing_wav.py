"""The file is whole at every moment: read back by the standard library while it grows, and after a kill."""

from __future__ import annotations

import subprocess
import sys
import textwrap
import wave
from pathlib import Path

import numpy as np
import pytest

from transcribe.audio.growing_wav import GrowingWav
from transcribe.audio.read import read_recording
from transcribe.errors import WriteError

RATE_HZ = 8000


def read_back(path: Path) -> np.ndarray:
    """Return the samples by the standard library's reader, full scale 1.0."""
    with wave.open(str(path), "rb") as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 3, RATE_HZ)
        raw = file.readframes(file.getnframes())
    triples = np.frombuffer(raw, np.uint8).reshape(-1, 3)
    return ((np.pad(triples, ((0, 0), (1, 0))).reshape(-1).view("<i4")) >> 8) / 2**23


def test_the_bytes_of_a_header(tmp_path: Path) -> None:
    """Layout of RIFF/WAVE: Multimedia Programming Interface and Data Specifications 1.0 (1991)."""
    with GrowingWav(tmp_path / "a.wav", RATE_HZ) as wav:
        wav.write(np.array([0.0, 0.5, -1.0], np.float32))
    data = (tmp_path / "a.wav").read_bytes()
    assert data == (
        b"RIFF\x2e\x00\x00\x00WAVE"  # 46 bytes follow: 36 of header, 9 of samples, 1 to make them even
        b"fmt \x10\x00\x00\x00"
        b"\x01\x00\x01\x00"  # PCM, one channel
        b"\x40\x1f\x00\x00\xc0\x5d\x00\x00"  # 8000 Hz, 24000 bytes a second
        b"\x03\x00\x18\x00"  # 3 bytes a sample, 24 bits
        b"data\x09\x00\x00\x00"
        b"\x00\x00\x00\x00\x00\x40\x00\x00\x80"
        b"\x00"
    )


def test_samples_come_back_within_half_a_step(tmp_path: Path) -> None:
    sound = np.random.default_rng(1).uniform(-1, 1, 5001).astype(np.float32)
    with GrowingWav(tmp_path / "a.wav", RATE_HZ) as wav:
        for part in np.array_split(sound, 7):
            wav.write(part)
    assert np.abs(read_back(tmp_path / "a.wav") - sound).max() <= 0.5 / 2**23 + 1e-9
    assert np.abs(read_recording(tmp_path / "a.wav").samples - sound).max() < 1e-6


def test_beyond_full_scale_is_cut_off_not_wrapped(tmp_path: Path) -> None:
    with GrowingWav(tmp_path / "a.wav", RATE_HZ) as wav:
        wav.write(np.array([1.5, -1.5], np.float32))
    assert np.allclose(read_back(tmp_path / "a.wav"), [1, -1], atol=1e-6)


def test_the_file_is_whole_while_it_grows(tmp_path: Path) -> None:
    path, block = tmp_path / "a.wav", np.full(800, 0.25, np.float32)
    with GrowingWav(path, RATE_HZ) as wav:
        for k in range(1, 31):
            wav.write(block)
            so_far = read_back(path)
            assert so_far.size >= 800 * k - 0.25 * RATE_HZ  # at most a quarter of a second behind
            assert np.allclose(so_far, 0.25)


def test_a_killed_program_leaves_a_file_that_plays(tmp_path: Path) -> None:
    """The strongest end there is: no clean-up runs at all."""
    path = tmp_path / "a.wav"
    script = f"""
        import os, pathlib, signal
        import numpy as np
        from transcribe.audio.growing_wav import GrowingWav
        wav = GrowingWav(pathlib.Path({str(path)!r}), {RATE_HZ})
        for _ in range(30):
            wav.write(np.full(800, 0.25, np.float32))
        os._exit(9)
    """
    root = Path(__file__).parents[3]
    done = subprocess.run([sys.executable, "-c", textwrap.dedent(script)], cwd=root, check=False)
    assert done.returncode == 9
    assert read_back(path).size >= 3.0 * RATE_HZ - 0.25 * RATE_HZ
    recording = read_recording(path)
    assert recording.duration_s >= 2.75
    assert np.allclose(recording.samples, 0.25)


def test_another_take_is_never_overwritten(tmp_path: Path) -> None:
    (tmp_path / "a.wav").write_bytes(b"precious")
    with pytest.raises(WriteError, match="is there already"):
        GrowingWav(tmp_path / "a.wav", RATE_HZ)
    assert (tmp_path / "a.wav").read_bytes() == b"precious"


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(WriteError, match="cannot make the folder"):
        GrowingWav(tmp_path / "file" / "a.wav", RATE_HZ)


def test_it_stops_before_the_header_overflows(tmp_path: Path) -> None:
    with GrowingWav(tmp_path / "a.wav", RATE_HZ) as wav:
        assert wav.has_room
        wav.n_samples = 2**32 // 3 - RATE_HZ // 2
        assert not wav.has_room
        wav.n_samples = 0
