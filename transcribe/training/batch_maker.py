"""Batches made in other processes, a few ahead of their use.

A batch is some twenty megabytes, and the one process that trains would have to receive and unpack each: the makers
write theirs into places of one mapped file instead and tell that they are done.
"""

from __future__ import annotations

import mmap
import shutil
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from transcribe.errors import WriteError
from transcribe.training.rehearsal import Batch, Players, batch_of


@dataclass(frozen=True, slots=True)
class Shelf:
    """A file with places for batches of one layout."""

    path: Path
    layout: tuple[tuple[str, str, tuple[int, ...]], ...]  # name, type and shape of each array
    places: int

    @classmethod
    def like(cls, batch: Batch, path: Path, places: int) -> Shelf:
        """Return an empty shelf in a new file for batches whose arrays are as those of ``batch``.

        Raises WriteError where the file would not fit: a mapped file that grows into a full disk ends its writer.
        """
        layout = tuple((name, array.dtype.str, array.shape) for name, array in batch.items())
        shelf = cls(path, layout, places)
        needed, free = places * shelf.stride, shutil.disk_usage(path.parent).free
        if needed > free:
            raise WriteError(
                f"the batches under way need {needed >> 20} MB, and {path.parent.parent} has {free >> 20} MB free",
                "Let TMPDIR (on Windows TEMP) name a folder with more, or give fewer --workers or --clips.",
            )
        with path.open("wb") as file:
            file.truncate(needed)
        return shelf

    @property
    def stride(self) -> int:
        """Bytes of a place: whole pages of memory, as a map begins at one."""
        size = sum(np.dtype(kind).itemsize * int(np.prod(shape)) for _, kind, shape in self.layout)
        return -(-size // mmap.ALLOCATIONGRANULARITY) * mmap.ALLOCATIONGRANULARITY

    def put(self, place: int, batch: Batch) -> None:
        """Write a batch into a place. Raises ValueError for a batch of another layout."""
        if {(name, array.dtype.str, array.shape) for name, array in batch.items()} != set(self.layout):
            raise ValueError("the arrays of the batch are not those of the shelf")
        for name, there in self._arrays(place, "r+").items():
            there[...] = batch[name]

    def take(self, place: int) -> Batch:
        """Return a copy of the batch in a place, which may then be written anew."""
        return {name: np.array(there) for name, there in self._arrays(place, "r").items()}

    def _arrays(self, place: int, mode: str) -> Batch:
        mapped = np.memmap(self.path, np.uint8, mode, offset=place * self.stride, shape=(self.stride,))  # type: ignore[call-overload]
        arrays, at = {}, 0
        for name, kind, shape in self.layout:
            size = np.dtype(kind).itemsize * int(np.prod(shape))
            arrays[name] = np.frombuffer(mapped.data, kind, int(np.prod(shape)), at).reshape(shape)
            at += size
        return arrays


class BatchMaker:
    """Makes numbered batches, in other processes when there are ``workers``."""

    def __init__(self, players: Players, *, seed: int, clips: int, modal_clips: int, workers: int) -> None:
        self.make = (seed, clips, modal_clips)
        self.players = players
        self.ahead = 2 * workers
        self.pool: ProcessPoolExecutor | None = None
        if workers > 0:
            self.folder = TemporaryDirectory(prefix="takesheet-batches-", ignore_cleanup_errors=True)
            first = batch_of(players, seed, 0, clips=clips, modal_clips=modal_clips)
            self.shelf = Shelf.like(first, Path(self.folder.name) / "shelf", self.ahead)
            self.pool = ProcessPoolExecutor(
                workers,
                mp_context=get_context("spawn"),
                initializer=_stand_ready,
                initargs=(players.without_samples(), self.shelf),
            )

    def __enter__(self) -> BatchMaker:
        return self

    def __exit__(self, *_: object) -> None:
        if self.pool is not None:
            self.pool.shutdown(wait=True, cancel_futures=True)
            self.folder.cleanup()

    def batches(self, first: int) -> Iterator[Batch]:
        """Yield batches from number ``first`` on, without end."""
        seed, clips, modal_clips = self.make
        number = first
        if self.pool is None:
            while True:
                yield batch_of(self.players, seed, number, clips=clips, modal_clips=modal_clips)
                number += 1
        waiting: deque[tuple[Future[None], int]] = deque()
        for place in range(self.ahead):
            waiting.append((self.pool.submit(_make, place, seed, number, clips, modal_clips), place))
            number += 1
        while True:
            made, place = waiting.popleft()
            made.result()
            batch = self.shelf.take(place)
            waiting.append((self.pool.submit(_make, place, seed, number, clips, modal_clips), place))
            number += 1
            yield batch


_ready: list[tuple[Players, Shelf]] = []  # one a process, set when it starts


def _stand_ready(players: Players, shelf: Shelf) -> None:
    _ready[:] = [(players, shelf)]


def _make(place: int, seed: int, number: int, clips: int, modal_clips: int) -> None:
    players, shelf = _ready[0]
    shelf.put(place, batch_of(players, seed, number, clips=clips, modal_clips=modal_clips))
