"""A checkpoint from weights already exported: python -m transcribe.training.warm_start --bank bank.npz --out DIR

The exported file holds no optimizer and its normalisations lie inside the convolutions. This puts the weights back into
a network to be trained on, which may be wider or have more blocks than they had: what it hears stays the same at first
(T. Chen, I. Goodfellow and J. Shlens, "Net2Net: Accelerating Learning via Knowledge Transfer", ICLR 2016, function
preserving; here new channels start at random and nothing old listens to them yet). Kernels over time and pitch at once,
as weights had before there were two in turn, are taken apart: that network hears nearly the same, and wants training.
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
from transcribe.training.low_rank import pitch_then_time, time_then_pitch
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
            bias = np.zeros(len(kernel), np.float32) if _has_no_bias(layer) else _bias(constants, layer)
            found[layer] = (kernel.T if kernel.ndim == 2 else kernel.transpose(1, 2, 3, 0), bias)
        elif layer == "Tensordot":
            layer = name.split("/")[-3].rsplit("_", 1)[0]
            found[layer] = (kernel.T, _bias(constants, layer))
    if "answers" not in found or "stem" not in found:
        raise _of_another()
    return found


def _has_no_bias(layer: str) -> bool:
    return layer == "stem-pitch" or layer.endswith("-time")


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
    blocks = len({name[: name.index("-")] for name in layers if name.startswith("block")})
    if blocks != len(old):
        raise ReadError(f"the weights have {blocks} blocks; {len(old)} dilations were told", "Tell one for each block.")
    placed = {_placed(name, homes): part for name, part in layers.items()}
    whole = {name: part[0] for name, part in placed.items() if _is_whole(name, part[0])}
    for name, (kernel, bias) in placed.items():
        if name not in whole:
            _put(model, name, kernel, bias)
    for k in range(len(dilations)):
        if k not in homes:
            widen = model.get_layer(f"block{k}-widen")
            widen.set_weights([np.zeros_like(w) for w in widen.get_weights()])
    _settle(model, view, {name: bias for name, (_, bias) in placed.items()}, whole)


def _is_whole(name: str, kernel: Floats) -> bool:
    """Whether a kernel looks over time and pitch at once."""
    return (name == "stem" or name.endswith("-near")) and min(kernel.shape[:2]) > 1


def _put(model: Any, name: str, kernel: Floats, bias: Floats) -> None:
    layer = model.get_layer(name)
    layer.set_weights(_grown([np.asarray(w) for w in layer.get_weights()], kernel, bias))


def _placed(name: str, homes: Sequence[int]) -> str:
    return (
        f"block{homes[int(name[5 : name.index('-')])]}{name[name.index('-') :]}" if name.startswith("block") else name
    )


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


def _settle(model: Any, view: Any, biases: Mapping[str, Floats], whole: Mapping[str, Floats]) -> None:
    """Set every normalisation by what passes through it, so that training and running hear the same as before.

    On the way the ``whole`` kernels are taken apart, by what reaches them.
    """
    from keras import Model

    for layer in model.layers:
        first = layer.name.replace("-near", "-time") if layer.name.endswith("-near") else "stem-pitch"
        if layer.name in whole:
            heard = np.asarray(Model(model.input, model.get_layer(first).input)(view, training=False))
            _take_apart(model, layer.name, first, whole[layer.name], heard)
        elif layer.name.endswith("-norm"):
            name = layer.name.removesuffix("-norm")
            passing = np.asarray(Model(model.input, layer.input)(view, training=False))
            _set_norm(layer, passing, biases.get(name), silent=name.endswith("-mix"))


def _take_apart(model: Any, name: str, first: str, kernel: Floats, heard: Floats) -> None:
    heard = heard[..., : kernel.shape[2]]
    rank = model.get_layer(first).filters
    if name == "stem":
        halves = pitch_then_time(kernel, heard, rank=rank)
    else:
        halves = time_then_pitch(kernel, heard, rank=rank, dilation=model.get_layer(first).dilation_rate[0])
    for each, half in zip((first, name), halves, strict=True):
        _put(model, each, half, np.zeros(half.shape[-1], np.float32))


def _set_norm(layer: Any, passing: Floats, bias: Floats | None, *, silent: bool) -> None:
    """Undo the normalisation of what passes and add the ``bias``; without one, a ``silent`` layer adds nothing."""
    axes = (0, 1, 2)
    mean, var = passing.mean(axis=axes), passing.var(axis=axes)
    scale, shift = np.ones_like(mean), np.zeros_like(mean)
    if bias is not None:
        scale[: bias.size] = np.sqrt(var[: bias.size] + layer.epsilon)
        shift[: bias.size] = bias + mean[: bias.size]
    elif silent:
        scale[:] = 0.0
    layer.set_weights([scale, shift, mean, var])


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
