"""Files written together: all of them whole, or none changed."""

from __future__ import annotations

import errno
import os
import secrets
import shutil
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from transcribe.errors import WriteError

_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_NOT_ALLOWED = {errno.EACCES, errno.EPERM, errno.EROFS}
_NAME = {errno.ENAMETOOLONG, errno.EINVAL}


ELSEWHERE = "Choose another --out folder"


def write_together(folder: Path, files: Mapping[str, bytes], *, elsewhere: str = ELSEWHERE) -> tuple[Path, ...]:
    """Write files by name into a folder, made if need be, and return their paths.

    Everything is first written beside its goal under another name and flushed to the disk, then renamed over it
    (POSIX ``rename``: a reader sees the old file or the new one, whole). When any step fails, what stood there before
    stands there again. Raises WriteError that says which file, why, and what to do; ``elsewhere`` is how the caller is
    told to write somewhere else.
    """
    made = _make_folder(folder, elsewhere)
    steps = [_Step(folder / name) for name in files]
    at = folder
    try:
        for step, data in zip(steps, files.values(), strict=True):
            at = step.path
            step.write_beside(data)
        for step in steps:
            at = step.path
            step.put_in_place()
    except BaseException as error:
        for step in steps:
            step.take_back()
            step.clean_up()
        for made_folder in made:
            with suppress(OSError):
                made_folder.rmdir()
        if isinstance(error, OSError | ValueError):
            raise _in_words(error, at, elsewhere) from error
        raise
    for step in steps:
        step.clean_up()
    return tuple(step.path for step in steps)


class _Step:
    """One file on its way: the new bytes and a copy of the old ones, both beside the goal."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._goal = path
        self._new: Path | None = None
        self._old: Path | None = None
        self._placed = False

    def write_beside(self, data: bytes) -> None:
        """Write the new bytes, and a copy of the old file, beside the goal."""
        # Through a link to the file behind it: a rename would replace the link itself.
        self._goal = Path(os.path.realpath(self.path))
        if self._goal.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        new = self._beside()
        descriptor = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
        self._new = new
        with open(descriptor, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if self._goal.exists():
            if not os.access(self._goal, os.W_OK):
                raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
            shutil.copymode(self._goal, new)
            self._old = self._beside()
            shutil.copy2(self._goal, self._old)

    def put_in_place(self) -> None:
        """Rename the new file over the goal."""
        assert self._new is not None
        os.replace(self._new, self._goal)
        self._new, self._placed = None, True

    def take_back(self) -> None:
        """Put the old file back, or remove the new one where there was none."""
        if not self._placed:
            return
        with suppress(OSError):
            if self._old is None:
                self._goal.unlink()
            else:
                os.replace(self._old, self._goal)
                self._old = None

    def clean_up(self) -> None:
        """Remove what is left beside the goal."""
        for left in (self._new, self._old):
            if left is not None:
                with suppress(OSError):
                    left.unlink()

    def _beside(self) -> Path:
        return self._goal.with_name(f".takesheet-{secrets.token_hex(8)}.part")


def _make_folder(folder: Path, elsewhere: str) -> list[Path]:
    """Make the folder and those above it; return the ones that were not there, deepest first."""
    missing: list[Path] = []
    above = folder
    try:
        while not above.exists():
            missing.append(above)
            above = above.parent
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        if isinstance(error, FileExistsError | NotADirectoryError):
            raise WriteError(f"{above} is a file, not a folder", f"{elsewhere}.") from error
        raise _in_words(error, folder, elsewhere) from error
    return missing


def _in_words(error: OSError | ValueError, path: Path, elsewhere: str) -> WriteError:
    """Return the mistake in two plain lines."""
    number = error.errno if isinstance(error, OSError) else errno.EINVAL
    if number in _FULL:
        return WriteError(
            f"no room left to write {path}", f"Free some space, or {elsewhere[:1].lower()}{elsewhere[1:]}."
        )
    if number in _NOT_ALLOWED:
        return WriteError(f"not allowed to write {path}", f"{elsewhere}, or change its rights.")
    if number == errno.EISDIR:
        return WriteError(f"{path} is a folder, and a file should go there", "Move that folder away first.")
    if number in _NAME:
        return WriteError(f"this disk takes no file called {path.name!r}", "Rename the take to something shorter.")
    why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return WriteError(f"{path} cannot be written: {why}", f"{elsewhere}.")
