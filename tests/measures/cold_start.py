"""What one draft costs a fresh process: seconds, memory, and which libraries it loads.

Modules are compiled beforehand, as an installed package has them, whatever the environment says of writing bytecode.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fixtures.render import HERE, RATE_HZ, write_flac

ROOT = HERE.parent
HEAVY = ("tensorflow", "keras", "numba", "librosa")
START_AND_TELL = """
import os, sys, time
started = time.perf_counter()
quiet = [(os.POSIX_SPAWN_OPEN, number, os.devnull, os.O_WRONLY, 0) for number in (1, 2)]
child = os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ, file_actions=quiet)
_, status, usage = os.wait4(child, 0)
spent = usage.ru_utime + usage.ru_stime
print(os.waitstatus_to_exitcode(status), time.perf_counter() - started, spent, usage.ru_maxrss)
"""
JOINED = ("lamp-room.bright-electric", "slipway.bright-electric")  # cut to ten seconds together


@dataclass(frozen=True, slots=True)
class ColdStart:
    """One draft of a ten-second take by a fresh process."""

    seconds: float
    cpu_seconds: float  # of all cores together: what it costs on a machine that others use as well
    peak_mb: float
    loaded: tuple[str, ...]  # of the libraries that a draft should never load


def cold_start(runs: int = 3) -> ColdStart:
    """Return the middle of a few runs, files written; needs a system with wait4 (Linux, macOS)."""
    with tempfile.TemporaryDirectory() as folder:
        take = _ten_seconds(Path(folder))
        words = ["draft", str(take), "--out", str(Path(folder) / "out")]
        command, compiled = [sys.executable, "-m", "transcribe", *words], Path(folder) / "compiled"
        run_measured(command, compiled=compiled)
        times, cpu, peaks = zip(*(run_measured(command, compiled=compiled) for _ in range(runs)), strict=True)
        code = (
            "import sys\nfrom transcribe.cli.commands import main\n"
            f"main({words!r})\nprint('LOADED', *sorted(set({HEAVY!r}) & set(sys.modules)))"
        )
        told = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True).stdout
        loaded = next(line for line in told.splitlines() if line.startswith("LOADED")).split()[1:]
    return ColdStart(sorted(times)[runs // 2], sorted(cpu)[runs // 2], max(peaks), tuple(loaded))


def run_measured(command: list[str], *, compiled: Path | None = None) -> tuple[float, float, float]:
    """Return seconds, seconds of all cores, peak megabytes of one process; RuntimeError when it fails.

    A small process starts it: the peak of a child counts the memory of the process it was forked from as well.
    ``compiled`` is a folder to keep compiled modules in, for the next run to find.
    """
    small = [sys.executable, "-I", "-S", "-c", START_AND_TELL, *command]
    around = dict(os.environ)
    if compiled is not None:
        around.pop("PYTHONDONTWRITEBYTECODE", None)
        around["PYTHONPYCACHEPREFIX"] = str(compiled)
    told = subprocess.run(small, cwd=ROOT, capture_output=True, text=True, check=True, env=around).stdout
    code, seconds, cpu, peak = told.split()
    if int(code) != 0:
        raise RuntimeError(f"{' '.join(command)} ended with {code}")
    return float(seconds), float(cpu), float(peak) / (1e6 if sys.platform == "darwin" else 1e3)  # bytes there, else kB


def _ten_seconds(folder: Path) -> Path:
    from transcribe.audio.read import read_recording

    parts = [read_recording(HERE / "takes" / f"{name}.flac").samples for name in JOINED]
    path = folder / "ten-seconds.flac"
    write_flac(path, np.concatenate(parts)[: 10 * RATE_HZ], RATE_HZ)
    return path
