"""Several pitches at once: the maps of our own network, from the weights shipped with the package.

How it was trained and on what stands in weights/several-voices.md; the code is the training room's. Sound is taken in
chunks, so that memory follows the maps (about 80 kB a second) and not the spectra.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib.resources import files
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

    ``progress`` is called with (frames done, frames in all). ``weights`` replaces the shipped network with another of
    the same shape.
    """
    sound = resampled(recording, view.RATE_HZ)
    run = load_network(weights or files("transcribe.evidence.weights").joinpath(WEIGHTS).read_bytes(), threads=threads)
    count = view.frame_count(sound.size)
    parts: list[dict[str, NDArray[Any]]] = []
    done = 0
    for answers in _answers(_inputs(sound, threads), count, run):
        parts.append(_as_bytes(answers))
        done += len(answers)
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


def _answers(inputs: Iterator[Floats], count: int, run: Run) -> Iterator[Floats]:
    """Yield the network's logits a piece at a time, in order, every frame once."""
    inner = CHUNK_FRAMES - 2 * MARGIN_FRAMES
    chunk = np.zeros((CHUNK_FRAMES, view.PITCHES, view.CHANNELS), np.float32)
    filled = MARGIN_FRAMES  # nothing sounds before the start
    left = count
    for seen in inputs:
        while seen.shape[0] > 0:
            some = seen[: len(chunk) - filled]
            chunk[filled : filled + len(some)] = some
            filled, seen = filled + len(some), seen[len(some) :]
            if filled == len(chunk):
                yield run(chunk)[MARGIN_FRAMES:-MARGIN_FRAMES][:left]
                left -= min(inner, left)
                chunk[: 2 * MARGIN_FRAMES] = chunk[inner:].copy()
                filled = 2 * MARGIN_FRAMES
    while left > 0:
        chunk[filled:] = 0.0
        yield run(chunk)[MARGIN_FRAMES:-MARGIN_FRAMES][:left]
        left -= inner
        chunk[: 2 * MARGIN_FRAMES] = chunk[inner:].copy()
        filled = 2 * MARGIN_FRAMES


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
