"""A second pitch tracker, asked only on request: probabilistic YIN, from librosa.

M. Mauch and S. Dixon, "pYIN: A Fundamental Frequency Estimator Using Probabilistic Threshold Distributions", ICASSP
2014. It works on the waveform's own repetition and shares no part with the network, so where the two differ by an
octave one of them is wrong. Its steps are 10 cents; it is slow, and compiles itself on first use.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.units import hz_from_midi

RATE_HZ = 22050  # librosa's usual rate
FRAME_SAMPLES = 2048  # 93 ms: more than twice the period of the lowest string, as YIN needs
CHUNK_S = 30.0  # looked at in one go
OVERLAP_S = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class PitchContour:
    """Pitch of one voice, frame by frame."""

    times_s: NDArray[np.float64]  # (n_frames,) on the recording's clock
    midi: NDArray[np.float64]  # (n_frames,) fractional; NaN where no pitch is heard
    voiced: NDArray[np.float64]  # (n_frames,) how likely there is a pitch at all, 0 to 1


def pyin_contour(
    recording: Recording, *, hop_s: float = 0.02, lowest_midi: float = 33.0, highest_midi: float = 91.0
) -> PitchContour:
    """Return what probabilistic YIN hears between two pitches, one frame every ``hop_s``.

    >>> pyin_contour(recording).midi  # doctest: +SKIP
    """
    import librosa
    import soxr

    hop = round(hop_s * RATE_HZ)
    sound = np.asarray(soxr.resample(recording.samples, recording.rate_hz, RATE_HZ), dtype=np.float32)
    per_chunk, overlap = round(CHUNK_S * RATE_HZ / hop), round(OVERLAP_S * RATE_HZ / hop)
    count = sound.size // hop + 1
    midi, voiced = np.full(count, np.nan), np.zeros(count)
    for begin in range(0, count, per_chunk):
        first = max(0, begin - overlap)
        last = min(count, begin + per_chunk + overlap)
        pitch_hz, _, chance = librosa.pyin(
            sound[first * hop : last * hop],
            fmin=float(hz_from_midi(lowest_midi)),
            fmax=float(hz_from_midi(highest_midi)),
            sr=RATE_HZ,
            frame_length=FRAME_SAMPLES,
            hop_length=hop,
        )
        end = min(begin + per_chunk, count, first + pitch_hz.size)
        mine = slice(begin - first, end - first)
        midi[begin:end] = librosa.hz_to_midi(pitch_hz[mine])
        voiced[begin:end] = chance[mine]
    return PitchContour(recording.start_s + np.arange(count) * hop / RATE_HZ, midi, voiced)
