"""Several pitches at once: the maps of our own network, from the weights shipped with the package.

How it was trained and on what stands in weights/several-voices.md; the code is the training room's. Sound is taken in
chunks, so that memory follows the maps (about 80 kB a second) and not the spectra.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from importlib.resources import files
from queue import SimpleQueue
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.once import resampled
from transcribe.audio.recording import Recording
from transcribe.evidence import harmonic_spectrum as view
from transcribe.evidence.crepe import quiet_native_log
from transcribe.evidence.features import level_db
from transcribe.evidence.voice_maps import VoiceMaps, stored

Floats = NDArray[np.float32]
Progress = Callable[[int, int], None]
Run = Callable[[Floats], Floats]

WEIGHTS = "several-voices.tflite"
CHUNK_FRAMES = 560  # 6.5 s heard at a time, the file's own shape: more leaves the processor's caches, less loses time
MARGIN_FRAMES = 40  # heard on either side of a piece, and lost; the network looks 38 frames either way
SECTION_FRAMES = 5168  # a minute: how loud "loud" is, is judged within it


def voice_maps(
    recording: Recording, *, threads: int = 2, progress: Progress | None = None, weights: bytes | None = None
) -> VoiceMaps:
    """Return what the network hears in a take, one frame every 11.6 ms.

    Each of ``threads`` threads has a network of its own. ``progress`` is called with (frames done, frames in all).
    ``weights`` replaces the shipped network with another of the same shape.
    """
    sound = resampled(recording, view.RATE_HZ)
    content = weights or files("transcribe.evidence.weights").joinpath(WEIGHTS).read_bytes()
    count = view.frame_count(sound.size)
    networks = [load_network(content, threads=1) for _ in range(min(threads, _chunk_count(count)))]
    parts: list[dict[str, NDArray[Any]]] = []
    done = 0
    for answers in _side_by_side(networks, _chunks(_inputs(sound, threads), count)):
        parts.append({name: part[: count - done] for name, part in answers.items()})
        done += len(parts[-1]["held"])
        if progress is not None:
            progress(done, count)
    maps = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    hop_s = view.HOP / view.RATE_HZ
    level = level_db(recording, hop_s=hop_s)
    level = np.pad(level, (0, max(0, count - level.size)), mode="edge")[:count]
    return VoiceMaps(recording.start_s, hop_s, view.LOWEST_MIDI, view.SUB_BINS, **maps, level_db=level)


def load_network(content: bytes, *, threads: int) -> Run:
    """Return a function from (CHUNK_FRAMES, pitches, channels) to (CHUNK_FRAMES, pitches, answers) logits."""
    from ai_edge_litert.interpreter import Interpreter

    with quiet_native_log():
        network: Any = Interpreter(model_content=content, num_threads=threads)
        network.allocate_tensors()
    (entry,), (way_out,) = network.get_input_details(), network.get_output_details()

    def run(frames: Floats) -> Floats:
        network.set_tensor(entry["index"], frames[None])
        network.invoke()
        return np.asarray(network.get_tensor(way_out["index"])[0], dtype=np.float32)

    return run


def _side_by_side(networks: list[Run], chunks: Iterator[Floats]) -> Iterator[dict[str, NDArray[Any]]]:
    """Yield what the networks say of the inner frames of each chunk, in order; one more chunk waits than is heard."""
    free: SimpleQueue[Run] = SimpleQueue()
    for run in networks:
        free.put(run)

    def hear(chunk: Floats) -> dict[str, NDArray[Any]]:
        run = free.get()
        try:
            return _as_bytes(run(chunk)[MARGIN_FRAMES:-MARGIN_FRAMES])
        finally:
            free.put(run)

    pool = ThreadPoolExecutor(len(networks))
    asked: deque[Future[dict[str, NDArray[Any]]]] = deque()
    try:
        for chunk in chunks:
            asked.append(pool.submit(hear, chunk))
            if len(asked) > len(networks):
                yield asked.popleft().result()
        while asked:
            yield asked.popleft().result()
    finally:
        pool.shutdown(cancel_futures=True)


def _chunk_count(count: int) -> int:
    """How many chunks ``count`` frames are heard in."""
    return -(-count // (CHUNK_FRAMES - 2 * MARGIN_FRAMES))


def _chunks(inputs: Iterator[Floats], count: int) -> Iterator[Floats]:
    """Yield what the network is shown at a time: every one of ``count`` frames once between the margins, in order."""
    inner = CHUNK_FRAMES - 2 * MARGIN_FRAMES
    shape = (CHUNK_FRAMES, view.PITCHES, view.CHANNELS)
    chunk = np.zeros(shape, np.float32)
    filled, made = MARGIN_FRAMES, 0  # nothing sounds before the start
    for seen in inputs:
        while seen.shape[0] > 0:
            some = seen[: len(chunk) - filled]
            chunk[filled : filled + len(some)] = some
            filled, seen = filled + len(some), seen[len(some) :]
            if filled == len(chunk):
                yield chunk
                chunk, made = np.concatenate((chunk[inner:], np.zeros((inner, *shape[1:]), np.float32))), made + 1
                filled = 2 * MARGIN_FRAMES
    for _ in range(made, _chunk_count(count)):
        yield chunk
        chunk = np.concatenate((chunk[inner:], np.zeros((inner, *shape[1:]), np.float32)))


def _inputs(sound: Floats, threads: int) -> Iterator[Floats]:
    """Yield the network's inputs a block at a time; those of a minute are scaled by its own loud moments."""
    pieces: list[tuple[Floats, Floats]] = []
    frames = 0
    for pair in view.spectra(sound, threads=threads):
        pieces.append(pair)
        frames += len(pair[0])
        if frames >= SECTION_FRAMES:
            yield from _scaled(pieces)
            pieces, frames = [], 0
    if pieces:
        yield from _scaled(pieces)


def _scaled(pieces: list[tuple[Floats, Floats]]) -> Iterator[Floats]:
    loud_db = view.reference_db(np.concatenate([long_db.max(axis=1) for long_db, _ in pieces]))
    for long_db, short_db in pieces:
        yield view.stacked(long_db, short_db, loud_db)


def _as_bytes(logits: Floats) -> dict[str, NDArray[Any]]:
    """Return a piece of every map, in bytes."""
    flat = (len(logits), -1)

    def share(part: Floats) -> Floats:
        return np.asarray(1 / (1 + np.exp(-np.clip(part, -30, 30))), dtype=np.float32)

    string = np.exp(logits[..., 9:15] - logits[..., 9:15].max(axis=-1, keepdims=True))
    return {
        "contour": stored(share(logits[..., 0:3])).reshape(flat),
        "offset": np.round(np.tanh(logits[..., 3:6]) * 127).astype(np.int8).reshape(flat),
        "picked": stored(share(logits[..., 6])),
        "legato": stored(share(logits[..., 7])),
        "held": stored(share(logits[..., 8])),
        "string": stored(string / string.sum(axis=-1, keepdims=True)),
        "palm": stored(share(logits[..., 15])),
        "harmonic": stored(share(logits[..., 16])),
    }
