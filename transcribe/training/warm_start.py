"""A checkpoint from weights already exported: python -m transcribe.training.warm_start --bank bank.npz --out DIR

The exported file holds no optimizer and its normalisations lie inside the convolutions. This puts the weights back into
a network to be trained on, which may be wider or have more blocks than they had: what it hears stays the same at first
(T. Chen, I. Goodfellow and J. Shlens, "Net2Net: Accelerating Learning via Knowledge Transfer", ICLR 2016, function
preserving; here new channels start at random and nothing old listens to them yet).
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import ReadError, TakesheetError
from transcribe.evidence.network import WEIGHTS
from transcribe.training.note_bank import Bank, read_bank

Floats = NDArray[np.float32]
Layers = dict[str, tuple[Floats, Floats]]  # kernel as Keras lays it out, and bias, by layer

CLIPS, SEED = 24, 4  # of made playing; how strongly each channel moves is read from them


def read_layers(content: bytes) -> Layers:
    """Return kernel and bias of every layer of an exported network. Raises ReadError when it is none."""
    from ai_edge_litert.interpreter import Interpreter

    from transcribe.evidence.crepe import quiet_native_log

    try:
        with quiet_native_log():
            network: Any = Interpreter(model_content=content)
            network.allocate_tensors()
    except ValueError as error:
        raise ReadError("these are no exported weights", "Give a .tflite file made by export.") from error
    constants = {
        detail["name"]: np.asarray(network.get_tensor(detail["index"]), np.float32)
        for detail in network.get_tensor_details()
        if detail["dtype"] is np.float16
    }
    found: Layers = {}
    for name, kernel in constants.items():
        if kernel.ndim < 2:
            continue
        layer = name.split("/")[-2].rsplit("_", 1)[0]
        if layer not in found and f"{layer}_" in name and ";" not in name:
            found[layer] = (kernel.T if kernel.ndim == 2 else kernel.transpose(1, 2, 3, 0), _bias(constants, layer))
        elif layer == "Tensordot":
            layer = name.split("/")[-3].rsplit("_", 1)[0]
            found[layer] = (kernel.T, _bias(constants, layer))
    if "answers" not in found or "stem" not in found:
        raise _of_another()
    return found


def _bias(constants: Mapping[str, Floats], layer: str) -> Floats:
    for name, bias in constants.items():
        if bias.ndim == 1 and (f"{layer}-norm_" in name or f"{layer}_1/BiasAdd" in name):
            return bias
    raise _of_another()


def _of_another() -> ReadError:
    return ReadError("these are weights of another network", "Give a .tflite file made by export.")


def warmed(model: Any, layers: Layers, view: Any, *, dilations: Sequence[int], old: Sequence[int]) -> None:
    """Put ``layers`` of a network with blocks of ``old`` dilations into a model with blocks of ``dilations``.

    ``view`` (batch, frames, pitches, channels) is what normalisations are read from. Raises ReadError where the old
    network is no part of the new one.
    """
    homes = _homes(old, dilations)
    blocks = len({name[: name.index("-")] for name in layers if "-" in name})
    if blocks != len(old):
        raise ReadError(f"the weights have {blocks} blocks; {len(old)} dilations were told", "Tell one for each block.")
    for name, (kernel, bias) in layers.items():
        layer = model.get_layer(_placed(name, homes))
        layer.set_weights(_grown([np.asarray(w) for w in layer.get_weights()], kernel, bias))
    for k in range(len(dilations)):
        if k not in homes:
            widen = model.get_layer(f"block{k}-widen")
            widen.set_weights([np.zeros_like(w) for w in widen.get_weights()])
    biases = {_placed(name, homes): bias for name, (_, bias) in layers.items()}
    _settle(model, view, biases, blocks=len(dilations))


def _placed(name: str, homes: Sequence[int]) -> str:
    return f"block{homes[int(name[5 : name.index('-')])]}{name[name.index('-') :]}" if "-" in name else name


def _homes(old: Sequence[int], new: Sequence[int]) -> list[int]:
    """For each old block the new one that takes its place, in order."""
    homes: list[int] = []
    for dilation in old:
        later = [k for k in range(homes[-1] + 1 if homes else 0, len(new)) if new[k] == dilation]
        if not later:
            raise ReadError(
                f"blocks of dilations {tuple(old)} do not lie within {tuple(new)}", "Train from the start instead."
            )
        homes.append(later[0])
    return homes


def _grown(weights: list[Floats], kernel: Floats, bias: Floats) -> list[Floats]:
    """Random weights with the old ones in their corner; old channels do not listen to new ones."""
    into, out = kernel.shape[-2:]
    shape = weights[0].shape
    if shape[:-2] != kernel.shape[:-2] or shape[-2] < into or shape[-1] < out:
        raise ReadError(f"weights of shape {kernel.shape} do not fit into {shape}", "Train a network no narrower.")
    grown = weights[0].copy()
    grown[..., into:, :out] = 0.0
    grown[..., :into, :out] = kernel
    if len(weights) == 1:
        return [grown]
    shifted = weights[1].copy()
    shifted[:out] = bias
    return [grown, shifted]


def _settle(model: Any, view: Any, biases: Mapping[str, Floats], *, blocks: int) -> None:
    """Set every normalisation by what passes through it, so that training and running hear the same as before."""
    from keras import ops

    def normed(name: str, x: Any) -> Any:
        layer = model.get_layer(f"{name}-norm")
        axes = (0, 1, 2)
        mean, var = (np.asarray(ops.convert_to_numpy(f(x, axis=axes))) for f in (ops.mean, ops.var))
        scale, shift = np.ones_like(mean), np.zeros_like(mean)
        bias = biases.get(name)
        if bias is not None:
            scale[: bias.size] = np.sqrt(var[: bias.size] + layer.epsilon)
            shift[: bias.size] = bias + mean[: bias.size]
        elif name.endswith("-mix"):
            scale[:] = 0.0
        layer.set_weights([scale, shift, mean, var])
        return layer(x, training=False)

    def layer(name: str, x: Any) -> Any:
        return model.get_layer(name)(x)

    x = ops.relu(normed("stem", layer("stem", view)))
    for k in range(blocks):
        y = ops.relu(normed(f"block{k}-near", layer(f"block{k}-near", x)))
        y = normed(f"block{k}-mix", layer(f"block{k}-mix", y))
        z = ops.transpose(layer(f"block{k}-narrow", x), (0, 1, 3, 2))
        z = ops.relu(ops.transpose(layer(f"block{k}-along", z), (0, 1, 3, 2)))
        x = ops.relu(x + y + layer(f"block{k}-widen", z))


def made_view(bank: Bank, *, clips: int, seed: int) -> Any:
    """Return what the network sees of some made playing, (clips, frames, pitches, channels)."""
    from transcribe.training.rehearsal import batch_of, hearing
    from transcribe.training.train import players_of

    batch = batch_of(players_of(bank), seed, 0, clips=clips, modal_clips=clips // 2)
    return hearing(bank.samples, modal_clips=clips // 2)(batch)[0]


def main(words: Sequence[str] | None = None) -> int:
    """Write the checkpoint as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="warm_start", description="Make a checkpoint of exported weights.")
    parser.add_argument("--weights", type=Path, help="a .tflite file; the shipped one when left out")
    parser.add_argument("--bank", type=Path, required=True, help="file made by note_bank")
    parser.add_argument("--out", type=Path, required=True, help="folder of the checkpoint")
    parser.add_argument("--dilations", type=int, nargs="+", help="of the blocks the weights have; as now when left out")
    chosen = parser.parse_args(words)
    path = chosen.out / "checkpoint.npz"
    try:
        if path.exists():
            raise ReadError(f"{path} is there already", "Name another folder: a training run may go on from it.")
        from transcribe.training import checkpoint
        from transcribe.training.network import DILATIONS
        from transcribe.training.train import compiled_network

        content = chosen.weights.read_bytes() if chosen.weights else _shipped()
        model = compiled_network()
        view = made_view(read_bank(chosen.bank), clips=CLIPS, seed=SEED)
        warmed(model, read_layers(content), view, dilations=DILATIONS, old=chosen.dilations or DILATIONS)
        model.optimizer.build(model.trainable_variables)
        chosen.out.mkdir(parents=True, exist_ok=True)
        checkpoint.save(path, model, 0)
    except (OSError, TakesheetError) as error:
        print(error, file=sys.stderr)
        return 2
    print(f"wrote {path}")
    return 0


def _shipped() -> bytes:
    return files("transcribe.evidence.weights").joinpath(WEIGHTS).read_bytes()


if __name__ == "__main__":
    sys.exit(main())
