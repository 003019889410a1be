"""Recording: mono samples and when they begin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import TakeError


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Recording:
    """One channel of sound, read from a file or a microphone."""

    samples: NDArray[np.float32]  # shape (n_samples,), full scale is 1.0
    rate_hz: int
    start_s: float = 0.0  # time of the first sample, from the start of the file
    remarks: tuple[str, ...] = ()  # what a person should know about how it was read, one sentence each

    def __post_init__(self) -> None:
        if self.samples.ndim != 1 or self.samples.size == 0:
            raise TakeError(f"a recording is one row of samples; got shape {self.samples.shape}")
        if self.rate_hz <= 0:
            raise TakeError(f"a sample rate must be above 0 Hz; got {self.rate_hz}")

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.samples.size / self.rate_hz

    @property
    def end_s(self) -> float:
        """Time of the end, from the start of the file."""
        return self.start_s + self.duration_s
