"""A training run on disk: every number of the network and its optimizer, so that it goes on where it stopped."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np

from transcribe.errors import ReadError


def save(path: Path, model: Any, step: int) -> None:
    """Write the network, its optimizer and the step, all or nothing."""
    arrays = {f"network_{k:03}": _numbers(v) for k, v in enumerate(model.variables)}
    arrays |= {f"optimizer_{k:03}": _numbers(v) for k, v in enumerate(model.optimizer.variables)}
    beside = path.with_name(path.name + ".part.npz")
    np.savez(beside, step=np.int64(step), **arrays)
    os.replace(beside, path)


def load(path: Path, model: Any) -> int:
    """Put a checkpoint's numbers into a compiled model of the same shape; return the step it had reached.

    Raises ReadError when the file is no checkpoint of this network.
    """
    try:
        with np.load(path) as file:
            model.optimizer.build(model.trainable_variables)
            _fill(model.variables, file, "network")
            _fill(model.optimizer.variables, file, "optimizer")
            return int(file["step"])
    except (OSError, KeyError, ValueError) as error:
        raise ReadError(f"{path} is no checkpoint of this network: {error}", "Train again from the start.") from error


def averaged(path: Path, model: Any) -> int:
    """Put the running average of a checkpoint's weights into a compiled model; return the step it had reached.

    Before the first step there is none: the weights stay as they are.
    """
    step = load(path, model)
    if step:
        model.optimizer.finalize_variable_values(model.trainable_variables)
    return step


def _fill(variables: Any, file: Any, name: str) -> None:
    for k, variable in enumerate(variables):
        variable.assign(file[f"{name}_{k:03}"])


def _numbers(variable: Any) -> Any:
    import keras

    return np.asarray(keras.ops.convert_to_numpy(variable.value))
