"""Evidence: what can be measured in the samples, frame by frame, whoever measured it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import EvidenceError


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """A salience map and an onset map on one clock: all that the note-former reads.

    Frame i is centred on ``start_s + i * hop_s``. One-voice and many-voice networks fill the same value.
    """

    start_s: float  # time of frame 0, from the start of the file
    hop_s: float
    bin_midi: NDArray[np.float64]  # (n_bins,) pitch of each bin, rising; 69.0 is A at 440 Hz
    salience: NDArray[np.float32]  # (n_frames, n_bins) how strongly each pitch sounds, 0 to 1
    onset: NDArray[np.float32]  # (n_frames, 1) for the whole spectrum, or (n_frames, n_bins); 0 to 1
    level_db: NDArray[np.float32]  # (n_frames,) root mean square, dB below full scale

    def __post_init__(self) -> None:
        frames, bins = self.salience.shape
        if self.hop_s <= 0:
            raise EvidenceError(f"a hop must be above 0 s; got {self.hop_s} s")
        if self.bin_midi.shape != (bins,) or np.any(np.diff(self.bin_midi) <= 0):
            raise EvidenceError(f"bin_midi must rise over {bins} bins; got shape {self.bin_midi.shape}")
        if self.onset.shape not in {(frames, 1), (frames, bins)}:
            raise EvidenceError(f"the onset map must be ({frames}, 1) or ({frames}, {bins}); got {self.onset.shape}")
        if self.level_db.shape != (frames,):
            raise EvidenceError(f"level_db must have {frames} frames; got {self.level_db.shape}")

    @property
    def times_s(self) -> NDArray[np.float64]:
        """Time of each frame, shape (n_frames,), from the start of the file."""
        return np.asarray(self.start_s + self.hop_s * np.arange(self.salience.shape[0]), dtype=np.float64)
