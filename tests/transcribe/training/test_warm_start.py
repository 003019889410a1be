"""Exported weights back in a network to train: it hears the same, also when it has grown."""

import os

os.environ.setdefault("KERAS_BACKEND", "tensorflow")
os.environ.setdefault("TF_CPP_MIN_LOG_LEVEL", "3")

import numpy as np
import pytest

from transcribe.errors import ReadError
from transcribe.evidence.harmonic_spectrum import CHANNELS, PITCHES
from transcribe.training.warm_start import read_layers, warmed

OLD = {"width": 8, "dilations": (1, 2, 1)}
GROWN = {"width": 12, "dilations": (1, 4, 2, 1)}


@pytest.fixture(scope="module")
def old_network():
    """A network with weights as uneven as training leaves them, and its exported file."""
    from transcribe.training.export import convert
    from transcribe.training.train import compiled_network

    model = compiled_network(**OLD)
    rng = np.random.default_rng(3)
    for layer in model.layers:
        uneven = [w * rng.uniform(0.5, 1.5, w.shape) + rng.uniform(0.0, 0.1, w.shape) for w in layer.get_weights()]
        layer.set_weights(uneven)
    return model, convert(model)


def some_view(seed):
    return np.random.default_rng(seed).random((2, 60, PITCHES, CHANNELS)).astype(np.float32)


@pytest.mark.parametrize("shape", [OLD, GROWN], ids=["as it was", "wider and deeper"])
def test_what_was_exported_hears_the_same_when_it_is_trained_on(old_network, shape):
    from transcribe.training.train import compiled_network

    model, content = old_network
    grown = compiled_network(**shape)
    warmed(grown, read_layers(content), some_view(0), dilations=shape["dilations"], old=OLD["dilations"])
    wanted = np.asarray(model(some_view(1), training=False))
    size = np.abs(wanted).max()
    assert np.abs(np.asarray(grown(some_view(1), training=False)) - wanted).max() < 0.01 * size, "16-bit floats"
    same = np.asarray(model(some_view(0), training=False))
    learning = np.asarray(grown(some_view(0), training=True))
    assert np.abs(learning - same).max() < 0.01 * size, "and with what normalises each batch while it learns"


def test_a_checkpoint_no_step_was_taken_from_holds_its_weights_as_the_average(old_network, tmp_path):
    from transcribe.training import checkpoint
    from transcribe.training.train import compiled_network

    model, _ = old_network
    model.optimizer.build(model.trainable_variables)
    checkpoint.save(tmp_path / "checkpoint.npz", model, 0)
    again = compiled_network(**OLD)
    checkpoint.averaged(tmp_path / "checkpoint.npz", again)
    wanted = np.asarray(model(some_view(1), training=False))
    assert np.asarray(again(some_view(1), training=False)) == pytest.approx(wanted, abs=1e-5)


def test_blocks_that_are_gone_cannot_be_filled(old_network):
    from transcribe.training.train import compiled_network

    grown = compiled_network(width=12, dilations=(1, 4, 1))
    with pytest.raises(ReadError, match="do not lie within"):
        warmed(grown, read_layers(old_network[1]), some_view(0), dilations=(1, 4, 1), old=OLD["dilations"])


def test_as_many_dilations_must_be_told_as_the_weights_have_blocks(old_network):
    for old in ((1, 1), (1, 2, 4, 1)):
        with pytest.raises(ReadError, match="3 blocks"):
            warmed(None, read_layers(old_network[1]), None, dilations=(1, 2, 4, 1), old=old)


def test_a_narrower_network_cannot_take_the_weights(old_network):
    from transcribe.training.train import compiled_network

    narrow = compiled_network(width=4, dilations=OLD["dilations"])
    with pytest.raises(ReadError, match="do not fit"):
        warmed(narrow, read_layers(old_network[1]), some_view(0), dilations=OLD["dilations"], old=OLD["dilations"])


def test_kernels_that_were_whole_are_taken_apart(old_network):
    """Eight channels have no more directions than lie between the two kernels: nothing is lost."""
    from transcribe.training.train import compiled_network

    model, content = old_network
    layers = read_layers(content)
    first, (then, bias) = layers.pop("stem-pitch")[0], layers["stem"]
    layers["stem"] = (np.einsum("fir,tro->tfio", first[0], then[:, 0]), bias)
    for k in range(3):
        first, (then, bias) = layers.pop(f"block{k}-time")[0], layers[f"block{k}-near"]
        layers[f"block{k}-near"] = (np.einsum("tir,fro->tfio", first[:, 0], then[0]), bias)
    again = compiled_network(**OLD)
    view = some_view(0)
    warmed(again, layers, view, dilations=OLD["dilations"], old=OLD["dilations"])
    wanted = np.asarray(model(view, training=False))
    assert np.abs(np.asarray(again(view, training=False)) - wanted).max() < 0.02 * np.abs(wanted).max()


def test_weights_of_another_network_are_told():
    from transcribe.evidence.crepe_weights import network_bytes

    with pytest.raises(ReadError, match="another network"):
        read_layers(network_bytes("tiny"))


def test_a_file_that_is_no_network_is_told(tmp_path, capsys):
    from transcribe.training.warm_start import main

    with pytest.raises(ReadError, match="no exported weights"):
        read_layers(b"not a network")
    assert main(["--bank", str(tmp_path / "none.npz"), "--out", str(tmp_path)]) == 2
    assert "none.npz" in capsys.readouterr().err


def test_a_training_run_is_not_written_over(tmp_path, capsys):
    from transcribe.training.warm_start import main

    (tmp_path / "checkpoint.npz").write_bytes(b"hours of work")
    assert main(["--bank", "any.npz", "--out", str(tmp_path)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert (tmp_path / "checkpoint.npz").read_bytes() == b"hours of work"
