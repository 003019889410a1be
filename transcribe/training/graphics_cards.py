"""One training step over several graphics cards: each makes and hears its own batch, all learn from their sum.

Data parallel training as Keras offers it on the JAX backend; with one card everything is left to the backend.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import ReadError
from transcribe.training.rehearsal import Batch, hearing

AHEAD = 2  # batches made before they are learned from
Pair = tuple[Any, Any]  # what is heard and what is true


def share_the_work(count: int) -> None:
    """Let Keras spread every later step over ``count`` cards. Raises ReadError when there are fewer, or no JAX."""
    if count == 1:
        return
    import keras

    if keras.backend.backend() != "jax":
        raise ReadError("several cards need the JAX backend", "Set KERAS_BACKEND=jax, or leave --cards out.")
    import jax

    if len(jax.devices()) != count:
        raise ReadError(f"there are {len(jax.devices())} cards, not {count}", "Give --cards as many as there are.")
    keras.distribution.set_distribution(keras.distribution.DataParallel(auto_shard_dataset=False))


def heard_batches(
    batches: Iterator[Batch], samples: NDArray[np.int16], *, modal_clips: int, cards: int
) -> Iterator[Pair]:
    """Yield (view, truth) of one batch a card, joined; the next ones are made while the last is learned from."""
    if cards == 1:
        hear = hearing(samples, modal_clips=modal_clips)
        made: Iterator[Pair] = (hear(batch) for batch in batches)
    else:
        made = _joined(batches, samples, modal_clips, cards)
    with ThreadPoolExecutor(1) as beside:  # fetching, sending and starting a batch would keep the cards waiting
        waiting = deque(beside.submit(next, made, None) for _ in range(AHEAD))
        while (pair := waiting.popleft().result()) is not None:
            waiting.append(beside.submit(next, made, None))
            yield pair


def _joined(batches: Iterator[Batch], samples: NDArray[np.int16], modal_clips: int, cards: int) -> Iterator[Pair]:
    import jax

    devices = jax.devices()[:cards]
    hears = [hearing(samples, modal_clips=modal_clips, device=device) for device in devices]
    mesh = jax.sharding.Mesh(np.array(devices), ("batch",))
    place = jax.sharding.NamedSharding(mesh, jax.sharding.PartitionSpec("batch"))

    def whole(parts: list[Any]) -> Any:
        shape = (sum(part.shape[0] for part in parts), *parts[0].shape[1:])
        return jax.make_array_from_single_device_arrays(shape, place, parts)

    while True:
        parts = [hear(next(batches)) for hear in hears]
        yield whole([part[0] for part in parts]), whole([part[1] for part in parts])
