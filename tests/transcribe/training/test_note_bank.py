"""Banks of recorded notes: read from a folder, packed and unpacked without loss, held-out guitars kept apart."""

import av
import numpy as np
import pytest

from transcribe.errors import ReadError
from transcribe.training.note_bank import HELD_OUT, RATE_HZ, Zone, joined, main, packed, read_bank
from transcribe.training.rehearsal import guitars_of


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


def test_packing_loses_nothing(tmp_path):
    rng = np.random.default_rng(0)
    loud = rng.integers(-32768, 32767, 5000).astype(np.int16)
    bank = joined([Zone("a", 60.0, 0.1, loud), Zone("b", 0.0, 0.1, loud[:100])])
    np.savez_compressed(tmp_path / "x.npz", **packed(bank))
    assert np.array_equal(read_bank(tmp_path / "x.npz").samples, bank.samples)


def test_held_out_guitars_are_not_trained_on():
    tone = np.ones(10, np.int16)
    bank = joined([Zone(name, 60.0, 0.1, tone) for name in ("archtop", *HELD_OUT)])
    assert guitars_of(bank, held_out=False) == ("archtop",)
    assert set(guitars_of(bank, held_out=True)) == set(HELD_OUT)


def test_what_is_no_bank_is_refused(tmp_path, capsys):
    assert main(["--bank", str(tmp_path), "--out", str(tmp_path / "b.npz")]) == 2
    assert "manifest.tsv" in capsys.readouterr().err
    np.savez(tmp_path / "other.npz", x=np.zeros(3))
    with pytest.raises(ReadError, match="no note bank"):
        read_bank(tmp_path / "other.npz")
