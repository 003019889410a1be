"""Banks of recorded notes: packed and unpacked without loss, held-out guitars kept apart."""

import numpy as np
import pytest

from transcribe.errors import ReadError
from transcribe.training.note_bank import HELD_OUT, Zone, joined, main, packed, read_bank
from transcribe.training.rehearsal import guitars_of


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
    assert main(["--soundfont", f"second={tmp_path / 'none.sf2'}", "--out", str(tmp_path / "b.npz")]) == 2
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 2
    assert told[0].startswith(f"cannot read {tmp_path / 'none.sf2'}")
    assert main(["--soundfont", "a.sf2", "--soundfont", "b.sf2", "--out", str(tmp_path / "b.npz")]) == 2
    assert "two soundfonts are called gm" in capsys.readouterr().err
    np.savez(tmp_path / "other.npz", x=np.zeros(3))
    with pytest.raises(ReadError, match="no note bank"):
        read_bank(tmp_path / "other.npz")
