"""The converted network against the authors' own two-dimensional form, and the shipped file against the conversion."""

import keras
import numpy as np
import pytest

from tests.signals import hz, in_noise, plucked, steady
from transcribe.errors import MissingExtraError, TakesheetError, WriteError
from transcribe.evidence.crepe import load_network, normalised
from transcribe.evidence.crepe_weights import network_bytes
from transcribe.training import convert_crepe
from transcribe.training.convert_crepe import (
    CAPACITY,
    FILTERS,
    WIDTHS,
    convert,
    data_file,
    in_groups,
    main,
    read_layers,
    write_whole,
)


@pytest.fixture(scope="module")
def layers():
    return read_layers(data_file("tiny"))


@pytest.fixture(scope="module")
def crepe(layers):
    return as_the_authors_wrote_it(layers)


@pytest.fixture(scope="module")
def frames():
    tones = [in_noise(plucked(steady(hz(midi), 0.064, 16000), rate_hz=16000), 30) for midi in range(40, 88)]
    noise = np.random.default_rng(0).standard_normal((16, 1024))
    return normalised(np.concatenate((np.stack(tones), noise)).astype(np.float32), 64)


def as_the_authors_wrote_it(layers):
    """The network of the paper's published code: convolutions over (time, 1) images, transposed before flattening."""
    entry = keras.Input((1024,))
    x = keras.layers.Reshape((1024, 1, 1))(entry)
    for number, (width, filters) in enumerate(zip(WIDTHS, FILTERS, strict=True), start=1):
        stride = (4, 1) if number == 1 else (1, 1)
        x = keras.layers.Conv2D(
            filters * CAPACITY["tiny"],
            (width, 1),
            strides=stride,
            padding="same",
            activation="relu",
            name=f"conv{number}",
        )(x)
        x = keras.layers.BatchNormalization(name=f"conv{number}-BN")(x)
        x = keras.layers.MaxPool2D(pool_size=(2, 1), strides=None, padding="valid")(x)
        x = keras.layers.Dropout(0.25)(x)
    x = keras.layers.Permute((2, 1, 3))(x)
    x = keras.layers.Flatten()(x)
    x = keras.layers.Dense(360, activation="sigmoid", name="classifier")(x)
    model = keras.Model(entry, x)
    for layer in model.layers:
        if layer.weights:  # Keras names each weight, e.g. "kernel" or "moving_mean"
            layer.set_weights([layers[layer.name][weight.name].reshape(weight.shape) for weight in layer.weights])
    return model


def test_the_shipped_file_gives_what_keras_gives(crepe, frames):
    run, batch = load_network(network_bytes("tiny"), threads=1)
    assert batch == len(frames)
    ours, theirs = run(frames), crepe.predict(frames, verbose=0)
    assert np.abs(ours - theirs).max() < 0.002
    assert np.array_equal(ours[:48].argmax(axis=1), theirs[:48].argmax(axis=1))


def test_one_dimension_in_groups_gives_what_the_two_dimensional_original_gives(crepe, layers, frames):
    ours, theirs = (model.predict(frames, verbose=0) for model in (in_groups("tiny", layers), crepe))
    assert np.abs(ours - theirs).max() < 1e-4
    assert theirs.max() > 0.8  # the tones are heard at all


def test_a_factor_below_zero_is_not_pooled_first(layers, frames):
    turned = layers | {"conv3-BN": layers["conv3-BN"] | {"gamma": -layers["conv3-BN"]["gamma"]}}
    ours, theirs = (
        model.predict(frames, verbose=0) for model in (in_groups("tiny", turned), as_the_authors_wrote_it(turned))
    )
    assert np.abs(ours - theirs).max() < 1e-4


def test_converting_again_gives_the_shipped_network(layers, frames):
    again, _ = load_network(convert(in_groups("tiny", layers), batch_frames=64), threads=1)
    shipped, _ = load_network(network_bytes("tiny"), threads=1)
    assert np.abs(again(frames) - shipped(frames)).max() < 1e-5


def test_weights_of_another_network_are_refused(layers):
    with pytest.raises(TakesheetError, match="conv6"):
        in_groups("tiny", {name: weights for name, weights in layers.items() if name != "conv6"})


def test_a_missing_data_package_is_told_with_its_cure(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(convert_crepe, "find_spec", lambda name: object() if name in ("tensorflow", "h5py") else None)
    with pytest.raises(MissingExtraError, match=r"crepe-full"):
        data_file("full")
    assert main(["--size", "full", "--out", str(tmp_path / "full.tflite")]) == 2
    assert "pip install" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_leaves_nothing_half_done(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(WriteError, match="cannot write"):
        write_whole(tmp_path / "file" / "x.tflite", b"1234")
    write_whole(tmp_path / "new" / "x.tflite", b"1234")
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["x.tflite"]
