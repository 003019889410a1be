"""Whether a note heard an octave under another is that other note alone.

A string sounds at all whole multiples of its pitch. What is heard an octave under a note that sounds, and shows
nothing at the odd ones, has only the partials of that note; where none of them grows as it is said to begin, nobody
played it.
"""

from __future__ import annotations

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.notes.weigh_voices import VoiceGrounds

ABOVE = 0.9  # of the ground of that name: a higher note sounds, about as loud
AFTER_S, WINDOW_S = 0.03, 0.12  # from the onset
WITHIN = 0.017  # of its place a partial is looked for: 30 cents
ODD, EVEN = (3, 5), (2, 4)  # the first partial lies near those of other low strings
# Of 190 notes heard under another on the guitars that numbers are chosen on, 31 were played and begin with nothing that
# grows: their odd partials lie no lower than 10.5 dB under the even ones (python -m tests.measures.undertones).
LEAST_ODD_DB = -18.0


def is_undertone(recording: Recording, onset_s: float, pitch_hz: float, grounds: VoiceGrounds) -> bool:
    """Return whether a note is only the undertone of a higher one that sounds with it."""
    if grounds.above < ABOVE or grounds.rise_db >= 0.0:
        return False
    return odd_partials_db(recording, onset_s, pitch_hz) < LEAST_ODD_DB


def odd_partials_db(recording: Recording, onset_s: float, pitch_hz: float) -> float:
    """Return how far partials 3 and 5 lie over partials 2 and 4 just after an onset, in dB; 0 where the take ends."""
    rate_hz = recording.rate_hz
    first, size = max(0, int((onset_s + AFTER_S - recording.start_s) * rate_hz)), int(WINDOW_S * rate_hz)
    part = recording.samples[first : first + size]
    if part.size < size or (max(ODD) + 1) * pitch_hz > rate_hz / 2:
        return 0.0
    power = np.abs(np.fft.rfft(part * np.hanning(size), 4 * size)) ** 2
    bin_hz = rate_hz / (4 * size)

    def strongest(number: int) -> float:
        low, high = (number * pitch_hz * (1 + side * WITHIN) / bin_hz for side in (-1, 1))
        return float(power[int(low) : int(np.ceil(high)) + 1].max())

    odd, even = (sum(map(strongest, numbers)) for numbers in (ODD, EVEN))
    return float(10 * np.log10((odd + 1e-12) / (even + 1e-12)))
