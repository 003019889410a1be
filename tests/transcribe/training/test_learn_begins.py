"""Learning which peaks are notes: pairing with what was played, and a problem whose answer is known."""

import json

import numpy as np
import pytest

from transcribe.notes.begins import Begin
from transcribe.training.learn_begins import LEGATO, NONE, PICKED, figures, learned, main, notes_among

HOP_S = 0.0116
TICK_S = 64 / 22050


def event(at_s, midi, legato=0):
    return np.array([at_s / TICK_S, midi, legato, 0, 0, 0])


def peak(at_s, midi, height):
    frame = at_s / HOP_S
    return Begin(round(frame), midi - 36, "picked", frame, height, height)


def test_each_note_has_one_peak_the_strongest():
    found = [peak(1.0, 60, 0.4), peak(1.03, 60, 0.9), peak(1.0, 64, 0.8), peak(2.0, 60, 0.9)]
    played = [event(1.01, 60.1), event(1.0, 63.9, legato=1)]
    assert notes_among(found, played, lowest_midi=36, hop_s=HOP_S).tolist() == [NONE, PICKED, LEGATO, NONE]


def problem():
    rng = np.random.default_rng(0)
    features = rng.normal(0, 1, (2000, 5))
    truth = (np.abs(features[:, 0]) > 0.67).astype(float)  # no straight line tells these apart
    clip = np.arange(2000) // 10
    return features, truth, clip


def test_what_needs_a_hidden_layer_is_learned():
    features, truth, clip = problem()
    keep = clip % 8 == 0
    layers = learned(features, truth, keep)
    told = np.tanh((features - layers["middle"]) / layers["spread"] @ layers["first"] + layers["first_bias"])
    odds = told @ layers["second"] + layers["second_bias"]
    assert np.mean((odds[keep] > 0) == (truth[keep] > 0.5)) > 0.93


def test_figures_count_notes_that_showed_no_peak():
    found = figures(np.array([0.9, 0.8, 0.2]), np.array([1.0, 0.0, 1.0]), 2)
    assert found == {"precision": 0.5, "recall": 0.25, "F": pytest.approx(2 / 6, abs=1e-3)}


def test_the_command_writes_layers_that_can_be_read_again(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("transcribe.training.learn_begins.ROUNDS", 5)
    features, truth, clip = problem()
    kept, out = tmp_path / "kept.npz", tmp_path / "out.json"
    truth[::3] = 2 * truth[::3]  # some of the notes are legato
    np.savez(kept, features=features, truth=truth, clip=clip, missed=np.zeros(200))
    assert main(["--bank", "unused", "--keep", str(kept), "--out", str(out)]) == 0
    made = json.loads(out.read_text())
    assert made["peaks"] == 2000
    assert np.array(made["note"]["first"]).shape[0] == np.array(made["legato"]["first"]).shape[0] == 5
    assert "2000 peaks" in capsys.readouterr().out
    assert main(["--bank", str(tmp_path / "none.npz"), "--out", str(out)]) == 2
