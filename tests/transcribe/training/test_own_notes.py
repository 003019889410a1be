"""A person's own recorded notes, from a folder to a card that compares: every step, with a tiny network."""

import os
import wave

os.environ.setdefault("KERAS_BACKEND", "tensorflow")
os.environ.setdefault("TF_CPP_MIN_LOG_LEVEL", "3")

import json

import numpy as np

from transcribe.training import card, evaluate, note_bank, sample
from transcribe.training.export import exported
from transcribe.training.note_bank import RATE_HZ, read_bank
from transcribe.training.train import train

SHAPE = {"width": 8, "dilations": (1, 2)}


def record_notes(folder):
    """Write three decaying notes of one guitar and the manifest that names them."""
    rows = ["file\tmidi"]
    t = np.arange(RATE_HZ) / RATE_HZ
    for midi in (45, 57, 69):
        hz = 440.0 * 2.0 ** ((midi - 69) / 12)
        tone = sum(np.sin(2 * np.pi * n * hz * t) / n for n in range(1, 6)) * np.exp(-3 * t)
        path = folder / "mine" / f"{midi}.wav"
        path.parent.mkdir(parents=True, exist_ok=True)
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE_HZ)
            file.writeframes(np.round(12000 * tone).astype("<i2").tobytes())
        rows.append(f"mine/{midi}.wav\t{midi}")
    (folder / "manifest.tsv").write_text("\n".join(rows) + "\n", encoding="utf-8")


def test_a_folder_of_notes_becomes_weights_and_a_card_that_compares(tmp_path, monkeypatch):
    monkeypatch.setattr(evaluate, "STYLES", ("line",))
    record_notes(tmp_path / "notes")
    bank, weights = str(tmp_path / "bank.npz"), tmp_path / "own.tflite"
    assert note_bank.main(["--bank", str(tmp_path / "notes"), "--out", bank]) == 0
    assert sample.main(["--bank", bank, "--out", str(tmp_path / "clips"), "--clips", "2"]) == 0
    train(read_bank(tmp_path / "bank.npz"), tmp_path, minutes=5.0, clips=2, most_steps=2, **SHAPE)
    weights.write_bytes(exported(tmp_path / "checkpoint.npz", **SHAPE))
    figures = {name: str(tmp_path / f"{name}.json") for name in ("own", "shipped")}
    measured = ["--bank", bank, "--clips", "1", "--known", "--json"]
    assert evaluate.main([*measured, figures["own"], "--weights", str(weights)]) == 0
    assert evaluate.main([*measured, figures["shipped"]]) == 0
    own, shipped = (json.loads((tmp_path / f"{name}.json").read_text()) for name in ("own", "shipped"))
    assert set(own) == set(shipped) == {"string model, line", "mine, line"}
    assert shipped["mine, line"]["onset F"] > own["mine, line"]["onset F"], "two steps teach a network nothing"
    words = ["--weights", str(weights), "--figures", figures["own"], "--shipped", figures["shipped"]]
    assert card.main([*words, "--run", "Two steps, seed 1.", "--out", str(tmp_path / "card.md")]) == 0
    text = (tmp_path / "card.md").read_text()
    assert f"| {shipped['mine, line']['onset F']:.3f} |" in next(r for r in text.splitlines() if "| mine, line" in r)
