"""Folders of recorded notes: by manifest, or by files named in scientific pitch notation; both cut at the attack."""

from pathlib import Path

import av
import numpy as np
import pytest

from transcribe.errors import ReadError
from transcribe.training.note_bank import RATE_HZ, main, read_bank
from transcribe.training.note_folder import LONGEST_S, named_pitch, zones_of_folder


def write_wav(path, sound, rate_hz):
    path.parent.mkdir(parents=True, exist_ok=True)
    with av.open(str(path), "w") as box:
        stream = box.add_stream("pcm_s16le", rate=rate_hz, layout="mono")
        whole = np.round(np.clip(sound, -1, 1) * 32767).astype(np.int16)
        frame = av.AudioFrame.from_ndarray(whole[None], format="s16", layout="mono")
        frame.sample_rate = rate_hz
        box.mux(stream.encode(frame))
        box.mux(stream.encode(None))


def pluck(midi, rate_hz, *, late_s=0.03):
    t = np.arange(rate_hz) / rate_hz
    tone = 0.4 * np.sin(2 * np.pi * 440 * 2 ** ((midi - 69) / 12) * t) * np.exp(-3 * t)
    return np.concatenate([np.zeros(int(late_s * rate_hz)), tone])


def test_a_folder_becomes_a_bank(tmp_path):
    for midi in (45, 52):
        write_wav(tmp_path / "bank" / "shed" / f"{midi}.wav", pluck(midi, 44100), 44100)
    (tmp_path / "bank" / "manifest.tsv").write_text(
        "file\tmidi\tarticulation\tmeasured_cents\nshed/45.wav\t45\tpick\t-4\nshed/52.wav\t\trelease noise\t\n"
    )
    assert main(["--bank", str(tmp_path / "bank"), "--out", str(tmp_path / "b.npz")]) == 0
    bank = read_bank(tmp_path / "b.npz")
    assert bank.guitars == ("shed",)
    assert bank.midi.tolist() == [pytest.approx(44.96), 0.0]
    first = np.abs(bank.samples[: int(0.01 * RATE_HZ)]).max()
    assert first > 3000, "the attack stands at the beginning of its zone"


# Scientific pitch notation (Acoustical Society of America, 1939): A4 is 440 Hz, number 69 in MIDI.
@pytest.mark.parametrize(
    ("file", "midi"),
    [("A4.wav", 69), ("C4.flac", 60), ("E2.mp3", 40), ("Cs3.wav", 49), ("C#3.ogg", 49), ("Bb3.WAV", 58)],
)
def test_a_file_named_by_its_pitch(file, midi):
    assert named_pitch(Path(file)) == midi


@pytest.mark.parametrize("file", ["README.md", "H4.wav", "A4.txt", "A4-loud.wav", "a4.wav", "A.wav"])
def test_other_files_are_no_notes(file):
    assert named_pitch(Path(file)) is None


def test_a_folder_of_named_files_is_one_guitar(tmp_path):
    folder = tmp_path / "parlour"
    for name, midi in (("A2", 45), ("Ds4", 63)):
        write_wav(folder / f"{name}.wav", pluck(midi, 44100), 44100)
    (folder / "index.js").write_text("no sound")
    own, other = zones_of_folder(folder), zones_of_folder(folder, name="loft")
    assert [(each.guitar, each.midi) for each in own] == [("parlour", 45.0), ("parlour", 63.0)]
    assert {each.guitar for each in other} == {"loft"}
    assert main(["--bank", f"loft={folder}", "--out", str(tmp_path / "b.npz")]) == 0
    assert read_bank(tmp_path / "b.npz").playable == ("loft",)


def test_a_long_note_is_cut(tmp_path):
    rate_hz = 8000
    long = np.sin(np.arange(int((LONGEST_S + 2) * rate_hz)) * 0.2) * 0.4
    write_wav(tmp_path / "E2.wav", long, rate_hz)
    (only,) = zones_of_folder(tmp_path)
    assert only.samples.size <= LONGEST_S * RATE_HZ


def test_a_folder_that_names_no_pitch_is_refused(tmp_path):
    (tmp_path / "song.wav").write_bytes(b"")
    with pytest.raises(ReadError, match=r"no manifest.tsv in .* named by its pitch"):
        zones_of_folder(tmp_path)


def test_a_bank_is_written_whole_or_not_at_all(tmp_path, capsys):
    folder = tmp_path / "parlour"
    write_wav(folder / "A2.wav", pluck(45, 44100), 44100)
    (tmp_path / "taken").write_text("a file where a folder should be")
    assert main(["--bank", str(folder), "--out", str(tmp_path / "taken" / "b.npz")]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 2
    assert main(["--bank", str(folder), "--out", str(tmp_path / "new" / "b.npz")]) == 0
    assert [file.name for file in (tmp_path / "new").iterdir()] == ["b.npz"]
