"""A WAV file that is whole at every moment while it grows, so that a crash loses nothing heard so far."""

from __future__ import annotations

import os
import struct
from contextlib import suppress
from pathlib import Path
from types import TracebackType

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import WriteError

HEADER_BYTES = 44  # RIFF, fmt and data chunk headers (Multimedia Programming Interface and Data Specifications 1.0)
BYTES_PER_SAMPLE = 3  # 24 bits: what sound cards deliver
FULL_SCALE = 2**23
LARGEST_BYTES = 2**32 - 1 - HEADER_BYTES  # the sizes in the header have 32 bits
HEADER_EVERY_S = 0.25
DISK_EVERY_S = 1.0  # how often the system is asked to put it on the disk, against loss of power


class GrowingWav:
    """Writes mono samples as 24-bit PCM. The file has its final name from the start and never replaces another.

    Samples go out first and the sizes in the header after them, a few times a second: whatever ends the program, the
    file can be opened and holds all but the last quarter of a second. Used in a ``with`` block, which closes it.
    """

    def __init__(self, path: Path, rate_hz: int) -> None:
        self.path = path
        self._rate_hz = rate_hz
        self.n_samples = 0
        self._told_samples = 0  # by the header
        self._saved_samples = 0
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise WriteError(
                f"cannot make the folder {path.parent}: {error}", "Choose another --out folder."
            ) from error
        try:
            self._file = path.open("xb")
            self._file.write(self._header())
            self._file.flush()
        except FileExistsError:
            raise WriteError(f"{path} is there already", "Choose another --name, or move that take away.") from None
        except (OSError, ValueError) as error:
            raise WriteError(f"cannot write {path}: {error}", "Choose another --out folder.") from error

    @property
    def duration_s(self) -> float:
        """Seconds written."""
        return self.n_samples / self._rate_hz

    @property
    def has_room(self) -> bool:
        """Whether a WAV header can still tell the size after another second."""
        return (self.n_samples + self._rate_hz) * BYTES_PER_SAMPLE < LARGEST_BYTES

    def write(self, samples: NDArray[np.float32]) -> None:
        """Append samples, full scale 1.0; what lies beyond is cut off. Raises OSError when the disk is full."""
        steps = np.clip(np.rint(samples * np.float64(FULL_SCALE)), -FULL_SCALE, FULL_SCALE - 1).astype("<i4")
        self._file.write(steps.view(np.uint8).reshape(-1, 4)[:, :BYTES_PER_SAMPLE].tobytes())
        self.n_samples += samples.size
        if self.n_samples - self._told_samples >= HEADER_EVERY_S * self._rate_hz:
            self._tell_size()
        if self.n_samples - self._saved_samples >= DISK_EVERY_S * self._rate_hz:
            os.fsync(self._file.fileno())
            self._saved_samples = self.n_samples

    def close(self) -> None:
        """Write the last sizes and close; does nothing when closed."""
        if self._file.closed:
            return
        try:
            with suppress(OSError):  # a full disk: the header still tells the samples before
                if self.n_samples * BYTES_PER_SAMPLE % 2:
                    self._file.write(b"\0")  # chunks end on an even byte
                self._tell_size()
                os.fsync(self._file.fileno())
        finally:
            with suppress(OSError):
                self._file.close()

    def discard(self) -> None:
        """Close and remove the file."""
        self.close()
        with suppress(OSError):
            self.path.unlink()

    def __enter__(self) -> GrowingWav:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _tell_size(self) -> None:
        self._file.flush()  # the samples first: a header must never promise what is not there
        end = self._file.tell()
        self._file.seek(0)
        self._file.write(self._header())
        self._file.flush()
        self._file.seek(end)
        self._told_samples = self.n_samples

    def _header(self) -> bytes:
        n_bytes = self.n_samples * BYTES_PER_SAMPLE
        byte_rate = self._rate_hz * BYTES_PER_SAMPLE
        riff = struct.pack("<4sI4s", b"RIFF", HEADER_BYTES - 8 + n_bytes + n_bytes % 2, b"WAVE")
        fmt = struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, 1, self._rate_hz, byte_rate, BYTES_PER_SAMPLE, 24)
        return riff + fmt + struct.pack("<4sI", b"data", n_bytes)
