"""Measuring weights on made playing: how many clips are heard, and what is said when it cannot be done."""

import os

os.environ.setdefault("KERAS_BACKEND", "tensorflow")
os.environ.setdefault("TF_CPP_MIN_LOG_LEVEL", "3")

from types import SimpleNamespace

import numpy as np
import pytest

from transcribe.training import evaluate
from transcribe.training.note_bank import RATE_HZ, Zone, joined
from transcribe.training.strokes import TICK


def noises():
    """All of a bank that the string model needs."""
    hiss = (3000 * np.random.default_rng(0).standard_normal(2000)).astype(np.int16)
    tone = np.round(9000 * np.sin(2 * np.pi * 440 * np.arange(RATE_HZ) / RATE_HZ)).astype(np.int16)
    return joined([Zone("noises", 0.0, 0.1, hiss), Zone("tone", 69.0, 0.4, tone)])


def test_six_clips_are_six_though_four_are_made_at_a_time(monkeypatch):
    """What the network would be asked about is counted."""
    asked = []

    def counted(batch, k, sound, weights):
        asked.append((k, sound))
        return evaluate.Tally(wanted=1)

    monkeypatch.setattr(evaluate, "tally", counted)
    told = evaluate.measure(noises(), (), style="line", clips=6, weights=None, modal=True)
    assert told.wanted == 6
    assert [k for k, _ in asked] == [0, 1, 2, 3, 0, 1]
    assert len({sound.tobytes() for _, sound in asked}) == 6, "no clip is heard twice"
    assert all(np.abs(sound).max() > 0.01 for _, sound in asked)


def test_a_partial_taken_for_a_note_is_counted_and_another_wrong_note_is_not(monkeypatch):
    """One A at 0.5 s; heard with its octave and its twelfth, a third that begins with it, and an octave long after."""
    clip = {"events": np.array([[[0.5 * RATE_HZ / TICK, 57.0, 0.0], [-1.0, 0.0, 0.0]]])}
    heard = [(0.5, 57), (0.51, 69), (0.49, 76), (0.5, 61), (1.2, 69)]
    voices = [SimpleNamespace(onset_s=at_s, midi=np.full(9, float(midi)), begin="picked") for at_s, midi in heard]
    monkeypatch.setattr(evaluate, "voice_maps", lambda recording, weights: None)
    monkeypatch.setattr(evaluate, "find_voices", lambda maps: voices)
    assert evaluate.tally(clip, 0, np.zeros(RATE_HZ, np.float32), None) == evaluate.Tally(1, 1, 5, 1, 2)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--clips", "0"], ["nothing is measured on 0 clips", "Give --clips 1 or more."]),
        (
            ["--weights", "none.tflite"],
            ["cannot read the weights none.tflite", "Give the .tflite file that export wrote."],
        ),
    ],
)
def test_what_cannot_be_measured_is_told_in_a_line_and_how_to_mend_it_in_another(words, said, capsys):
    assert evaluate.main(["--bank", "bank.npz", *words]) == 2
    assert capsys.readouterr().err.splitlines() == said


def test_a_file_that_is_no_network_is_told_before_anything_is_made(tmp_path, capsys):
    (tmp_path / "w.tflite").write_bytes(b"123")
    assert evaluate.main(["--bank", "bank.npz", "--weights", str(tmp_path / "w.tflite")]) == 2
    assert capsys.readouterr().err.startswith("cannot read the weights")
