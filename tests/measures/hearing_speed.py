"""Speed and memory of all of hearing: ``python -m tests.measures.hearing_speed [--minutes 10 60]``.

Prints what a cold draft of ten seconds costs, how many times faster than real time a warm process listens on
either way of hearing and as a draft chooses, and the peak memory of whole drafts of long takes; beside it what a second
of one core does, for a machine that others use too. The long takes are our own made takes laid end to end, at varied
levels, with a second's rest between them, written to a temporary folder.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
import wave
from pathlib import Path
from typing import Literal

import numpy as np

from fixtures.render import HERE, RATE_HZ
from tests.measures.cold_start import cold_start, run_measured
from transcribe.audio.read import read_recording
from transcribe.choices import TakeChoices

REST_S = 1.0
QUIETEST_DB = -9.0  # levels vary from here to 0
WARM_MINUTES = 1.0
Voices = Literal["one", "several", "auto"]
WAYS: tuple[Voices, ...] = ("one", "several", "auto")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.measures.hearing_speed", description=__doc__.split("\n")[0])
    parser.add_argument("--minutes", type=float, nargs="*", default=(10.0, 60.0), help="lengths of the long takes")
    parser.add_argument("--voices", choices=("auto", "one", "several"), default="auto", help="how long takes are heard")
    chosen = parser.parse_args()
    cold = cold_start()
    print(f"cold draft of 10 s: {cold.seconds:.2f} s ({cold.cpu_seconds:.2f} s of all cores), {cold.peak_mb:.0f} MB")
    with tempfile.TemporaryDirectory() as folder:
        take = made_take(Path(folder) / "warm.wav", WARM_MINUTES)
        for voices in WAYS:
            factor, spent = warm_factors(take, voices)
            print(f"warm, --voices {voices}: {factor:.0f} times real time; {spent:.0f} a core")
        for minutes in chosen.minutes:
            take = made_take(Path(folder) / f"{minutes:g}.wav", minutes)
            words = ["draft", str(take), "--voices", chosen.voices, "--out", str(Path(folder) / "out")]
            seconds, cpu, peak_mb = run_measured([sys.executable, "-m", "transcribe", *words])
            factor, spent = 60 * minutes / seconds, 60 * minutes / cpu
            print(
                f"{minutes:g} min: {seconds:.0f} s ({factor:.0f} times real time; {spent:.0f} a core), {peak_mb:.0f} MB"
            )


def made_take(path: Path, minutes: float) -> Path:
    """Write made takes end to end as a 16-bit WAV file of a length; return its path."""
    takes = sorted((HERE / "takes").glob("*.flac"))
    random = np.random.default_rng(7)
    left = round(60 * minutes * RATE_HZ)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        while left > 0:
            samples = read_recording(takes[int(random.integers(len(takes)))]).samples
            loud = samples / max(1e-9, float(np.abs(samples).max())) * 10 ** (random.uniform(QUIETEST_DB, 0.0) / 20)
            piece = np.concatenate([loud, np.zeros(round(REST_S * RATE_HZ))])[:left]
            file.writeframes(np.round(0.7 * 32767 * piece).astype("<i2").tobytes())
            left -= piece.size
    return path


def warm_factors(take: Path, voices: Voices) -> tuple[float, float]:
    """Return seconds of sound heard a second, and a second of one core, by a process that has drafted before."""
    from transcribe.listening import listen
    from transcribe.settings import Settings

    choices, settings, times = TakeChoices(voices=voices), Settings(), []
    for _ in range(3):
        started, cpu = time.perf_counter(), time.process_time()
        listen(take, choices, settings, lambda stage, share: None, length_s=60.0 * WARM_MINUTES)
        times.append((time.perf_counter() - started, time.process_time() - cpu))
    return 60.0 * WARM_MINUTES / min(t for t, _ in times[1:]), 60.0 * WARM_MINUTES / min(c for _, c in times[1:])


if __name__ == "__main__":
    main()
