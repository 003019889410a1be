"""One voice at a time: the CREPE network's 360 pitch activations as a salience map.

J. W. Kim, J. Salamon, P. Li and J. P. Bello, "CREPE: A Convolutional Representation for Pitch Estimation", ICASSP 2018.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from queue import SimpleQueue
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.once import resampled
from transcribe.audio.recording import Recording
from transcribe.evidence.crepe_weights import Size, network_bytes
from transcribe.evidence.evidence import Evidence
from transcribe.evidence.features import frame_count, level_db, onset_map
from transcribe.evidence.sparing import fill_sparingly
from transcribe.settings import EvidenceSettings

RATE_HZ = 16000  # what the network was trained on; paper, section 2.1
FRAME_SAMPLES = 1024
N_BINS = 360
# Bins of 20 cents from 31.70 Hz, in cents above 10 Hz, as in the authors' code that trained the network (their paper
# says C1, 32.70 Hz).
BIN_CENTS = 1997.3794084376191 + np.linspace(0.0, 7180.0, N_BINS)
RISE_DB = 2.0  # louder from one frame to the next by this much, something may have begun
TEN_HZ_MIDI = 69.0 + 12.0 * np.log2(10.0 / 440.0)
BIN_MIDI = TEN_HZ_MIDI + BIN_CENTS / 100.0

Progress = Callable[[int, int], None]


def crepe_evidence(
    recording: Recording,
    settings: EvidenceSettings,
    *,
    size: Size = "tiny",
    progress: Progress | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> Evidence:
    """Return what CREPE hears, with the onset map and level beside it, one frame every ``settings.hop_s``.

    Frames quieter than ``settings.silence_db`` are not shown to the network: their salience is zero. ``progress`` is
    called with (frames done, frames in all), ``meanwhile`` once, while the network works.

    Raises MissingExtraError when ``size`` is "full" and its parts are missing.
    """
    level = level_db(recording, hop_s=settings.hop_s)

    def beside() -> None:
        onset_map(recording, settings, hop_s=settings.hop_s)
        if meanwhile is not None:
            meanwhile()

    heard = level > settings.silence_db
    restless = np.diff(level, prepend=level[:1]) > RISE_DB
    return Evidence(
        start_s=recording.start_s,
        hop_s=settings.hop_s,
        bin_midi=BIN_MIDI,
        salience=activations(
            recording, settings, heard=heard, restless=restless, size=size, progress=progress, meanwhile=beside
        ),
        onset=onset_map(recording, settings, hop_s=settings.hop_s),
        level_db=level,
    )


def activations(
    recording: Recording,
    settings: EvidenceSettings,
    *,
    heard: NDArray[np.bool_],
    restless: NDArray[np.bool_] | None = None,
    size: Size = "tiny",
    progress: Progress | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> NDArray[np.float32]:
    """Return the network's output for the frames marked ``heard``, zero for others; shape (n_frames, 360), 0 to 1.

    Where it hardly changes from frame to frame, and none is marked ``restless``, it is drawn through: ``sparing``.
    Each of ``settings.network_threads`` threads has a tiny network of its own, which wastes less than one network on
    all of them; "full", of 90 MB, is loaded once for all. ``meanwhile`` is called while they work, on the caller's
    thread; ``progress`` on another.
    """
    sound = resampled(recording, RATE_HZ)
    count = frame_count(recording, settings.hop_s)
    centres = np.round(np.arange(count) * settings.hop_s * RATE_HZ).astype(int)
    padded = np.zeros(int(centres[-1]) + FRAME_SAMPLES, dtype=np.float32)
    padded[FRAME_SAMPLES // 2 :][: sound.size] = sound[: padded.size - FRAME_SAMPLES // 2]
    windows = np.lib.stride_tricks.sliding_window_view(padded, FRAME_SAMPLES)  # window i is centred on sample i
    salience = np.zeros((count, N_BINS), dtype=np.float32)
    content = network_bytes(size)
    copies, threads = (settings.network_threads, 1) if size == "tiny" else (1, settings.network_threads)
    networks = [load_network(content, threads=threads) for _ in range(copies)]
    free: SimpleQueue[Callable[[NDArray[np.float32]], NDArray[np.float32]]] = SimpleQueue()
    for run, _ in networks:
        free.put(run)
    batch = networks[0][1]

    def answer(chosen: NDArray[np.intp]) -> NDArray[np.intp]:
        run = free.get()
        try:
            salience[chosen] = run(normalised(windows[centres[chosen]], batch))[: chosen.size]
        finally:
            free.put(run)  # also when it failed: who waits for a network would wait for ever
        return chosen

    done = 0

    def settled(more: int) -> None:
        nonlocal done
        done += more
        if progress is not None:
            progress(done, count)

    def ask(frames: NDArray[np.intp]) -> None:
        for chosen in pool.map(answer, [frames[begin : begin + batch] for begin in range(0, frames.size, batch)]):
            settled(chosen.size)

    def fill() -> None:
        for more in fill_sparingly(ask, salience, heard, restless):
            settled(more)

    pool = ThreadPoolExecutor(len(networks))
    beside = ThreadPoolExecutor(1)
    try:
        filled = beside.submit(fill)
        if meanwhile is not None:
            meanwhile()
        filled.result()
    finally:
        pool.shutdown(cancel_futures=True)
        beside.shutdown(cancel_futures=True)
    return salience


def normalised(frames: NDArray[np.float32], batch: int) -> NDArray[np.float32]:
    """Return frames with zero mean and unit variance, filled up with zeros to ``batch`` rows."""
    ready = np.zeros((batch, frames.shape[1]), dtype=np.float32)
    centred = frames - frames.mean(axis=1, keepdims=True)
    ready[: len(frames)] = centred / np.maximum(centred.std(axis=1, keepdims=True), 1e-8)
    return ready


def load_network(content: bytes, *, threads: int) -> tuple[Callable[[NDArray[np.float32]], NDArray[np.float32]], int]:
    """Return a function from one batch of frames to activations, and how many frames a batch has."""
    from ai_edge_litert.interpreter import Interpreter

    with quiet_native_log():
        network: Any = Interpreter(model_content=content, num_threads=threads)
        network.allocate_tensors()
    (entry,), (way_out,) = network.get_input_details(), network.get_output_details()

    def run(frames: NDArray[np.float32]) -> NDArray[np.float32]:
        network.set_tensor(entry["index"], frames)
        network.invoke()
        return np.asarray(network.get_tensor(way_out["index"]), dtype=np.float32)

    return run, int(entry["shape"][0])


@contextlib.contextmanager
def quiet_native_log() -> Iterator[None]:
    """Keep the runtime's own log line off standard error while a network loads; it offers no switch for it."""
    try:
        kept = os.dup(2)
    except OSError:  # no standard error at all, e.g. under a windowed program
        yield
        return
    try:
        with open(os.devnull, "wb") as nowhere:
            os.dup2(nowhere.fileno(), 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
