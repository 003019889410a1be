"""VoiceMaps: what the several-voices network says of a take, frame by frame, for every pitch at once."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import EvidenceError
from transcribe.evidence.evidence import Evidence

Bytes = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class VoiceMaps:
    """Maps on one clock, each number stored in a byte so that an hour fits; ``shares`` reads them as 0 to 1.

    Frame i is centred on ``start_s + i * hop_s``. Pitch p is MIDI note ``lowest_midi + p``; contour has ``sub_bins``
    bins a semitone, the middle one on the note itself.
    """

    start_s: float
    hop_s: float
    lowest_midi: int
    sub_bins: int
    contour: Bytes  # (n_frames, n_pitches * sub_bins) how surely a note sounds within half a bin
    offset: NDArray[np.int8]  # the same shape: from the bin to the sounding pitch, in 1/64 of a bin
    picked: Bytes  # (n_frames, n_pitches) a string is picked here and now
    legato: Bytes  # the same for a hammered, lifted or sliding finger
    held: Bytes  # a note sounds here
    string: Bytes  # (n_frames, n_pitches, 6) share of each string, string 1 first
    palm: Bytes  # (n_frames, n_pitches) palm-muted, where something is picked
    harmonic: Bytes  # the same for harmonics
    level_db: NDArray[np.float32]  # (n_frames,) root mean square, dB below full scale

    def __post_init__(self) -> None:
        frames, bins = self.contour.shape
        pitches = bins // self.sub_bins
        if self.hop_s <= 0 or bins != pitches * self.sub_bins:
            raise EvidenceError(f"maps need a hop above 0 s and whole semitones; got {self.hop_s} s and {bins} bins")
        for name in ("picked", "legato", "held", "palm", "harmonic"):
            if getattr(self, name).shape != (frames, pitches):
                raise EvidenceError(f"the map {name} must be ({frames}, {pitches}); got {getattr(self, name).shape}")
        if self.offset.shape != (frames, bins) or self.string.shape != (frames, pitches, 6):
            raise EvidenceError("the maps of offsets and strings must fit the contour")
        if self.level_db.shape != (frames,):
            raise EvidenceError(f"level_db must have {frames} frames; got {self.level_db.shape}")

    @property
    def n_frames(self) -> int:
        """How many frames there are."""
        return int(self.contour.shape[0])

    @property
    def bin_midi(self) -> NDArray[np.float64]:
        """Pitch of each bin of the contour."""
        count = self.contour.shape[1]
        return self.lowest_midi + (np.arange(count) - self.sub_bins // 2) / self.sub_bins

    def evidence(self) -> Evidence:
        """Return the contour as a salience map and both kinds of onset as an onset map, for any note-former."""
        onset = np.repeat(np.maximum(self.picked, self.legato), self.sub_bins, axis=1)
        return Evidence(self.start_s, self.hop_s, self.bin_midi, shares(self.contour), shares(onset), self.level_db)


def shares(stored: Bytes) -> NDArray[np.float32]:
    """Return stored bytes as numbers from 0 to 1."""
    return stored.astype(np.float32) / np.float32(255)


def stored(share: NDArray[np.floating]) -> Bytes:
    """Return numbers from 0 to 1 as bytes, to within 1/510."""
    return np.asarray(np.round(np.clip(share, 0, 1) * 255), dtype=np.uint8)


def section(maps: VoiceMaps, first: int, last: int) -> VoiceMaps:
    """Return the maps from frame ``first`` up to ``last``, which may lie past the end; nothing is copied."""
    arrays = ("contour", "offset", "picked", "legato", "held", "string", "palm", "harmonic", "level_db")
    cut = {name: getattr(maps, name)[first:last] for name in arrays}
    return replace(maps, start_s=maps.start_s + first * maps.hop_s, **cut)
