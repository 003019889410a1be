"""A trained checkpoint to the small runtime's file: python -m transcribe.training.export --checkpoint F --out F.tflite

The running average of the weights is exported, in 16-bit floats, for a fixed count of frames at a time. Variables
become constants first: left as variables they would stay outside the file and the network run slower.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from transcribe.errors import MissingExtraError, TakesheetError
from transcribe.evidence.harmonic_spectrum import CHANNELS, PITCHES
from transcribe.evidence.network import CHUNK_FRAMES
from transcribe.training.convert_crepe import write_whole


def convert(model: Any) -> bytes:
    """Return the network as a TensorFlow Lite file. Raises MissingExtraError when Keras runs on something else."""
    import keras

    if keras.backend.backend() != "tensorflow":
        raise MissingExtraError(
            f"exporting needs Keras on TensorFlow; it runs on {keras.backend.backend()}",
            "set the environment variable KERAS_BACKEND=tensorflow",
        )
    import tensorflow as tf
    from tensorflow.python.framework.convert_to_constants import convert_variables_to_constants_v2

    signature = tf.TensorSpec((1, CHUNK_FRAMES, PITCHES, CHANNELS), tf.float32)
    graph = tf.function(lambda frames: model(frames, training=False)).get_concrete_function(signature)
    converter = tf.lite.TFLiteConverter.from_concrete_functions([convert_variables_to_constants_v2(graph)])
    converter.optimizations = [tf.lite.Optimize.DEFAULT]
    converter.target_spec.supported_types = [tf.float16]
    return bytes(converter.convert())


def exported(checkpoint: Path, *, width: int | None = None, dilations: tuple[int, ...] | None = None) -> bytes:
    """Return the averaged network of a checkpoint as a file's bytes. Raises ReadError when it is no checkpoint."""
    from transcribe.training.checkpoint import averaged
    from transcribe.training.train import compiled_network

    model = compiled_network(width=width, dilations=dilations)
    averaged(checkpoint, model)
    return convert(model)


def main(words: Sequence[str] | None = None) -> int:
    """Export as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="export", description="Convert a trained checkpoint for the small runtime.")
    parser.add_argument("--checkpoint", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True, help="the .tflite file to write")
    chosen = parser.parse_args(words)
    os.environ.setdefault("TF_CPP_MIN_LOG_LEVEL", "3")
    try:
        content = exported(chosen.checkpoint)
        write_whole(chosen.out, content)
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"wrote {chosen.out}: {len(content) / 1e6:.2f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
