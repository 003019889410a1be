"""Print what the base install weighs: ``python -m tests.measures.install_size``, in an environment that holds it."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement

MEGABYTE = 1e6


def closure(name: str, seen: set[str]) -> set[str]:
    """Names of a distribution and of everything it requires without extras."""
    name = name.lower().replace("_", "-")
    if name in seen:
        return seen
    try:
        needs = distribution(name).requires or []
    except PackageNotFoundError:
        return seen
    seen.add(name)
    for text in needs:
        need = Requirement(text)
        if need.marker is None or need.marker.evaluate({"extra": ""}):
            closure(need.name, seen)
    return seen


def main() -> None:
    names = sorted(closure("takesheet", set()))
    on_disk = 0
    for name in names:
        for file in distribution(name).files or []:
            path = Path(str(file.locate()))
            if path.suffix != ".pyc" and path.is_file():
                on_disk += path.stat().st_size
    pinned = [f"{name}=={distribution(name).version}" for name in names if name != "takesheet"]
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", folder, *pinned], check=True)
        wheels = sum(path.stat().st_size for path in Path(folder).iterdir())
    print(f"{len(names)} packages: {wheels / MEGABYTE:.0f} MB to download, {on_disk / MEGABYTE:.0f} MB unpacked")


if __name__ == "__main__":
    main()
