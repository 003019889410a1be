"""Which hand began a note: a pick, or a finger that is hammered down or pulled off while the string sounds.

Four things tell: what the several-voices network sees at the note's pitch, in its map of picks and in that of legato,
whether the sound rises, and whether it is kept. A pick makes a sound rise that a finger leaves as it is; a string
passed on by a finger loses a little each time. Where other strings begin at the same moment the level tells nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.attack import Envelope, measure_strike

AT_PICK = 3  # frames around an onset in which the map of palms is looked at
BELL_AFTER = 6  # frames after an onset, 70 ms, in which the map of harmonics is looked at too
BELL_RINGS = 0.2  # likelier harmonics lie under no palm: of 483 muted notes of training guitars none was over .03
BEFORE, AFTER = 4, 4  # frames around an onset in which the maps are looked at
LEAST_SEMITONES, WIDEST_SEMITONES = 0.5, 7.5  # from the note before: nearer is the same note, farther no hand reaches
SLOWEST_S = 0.08  # a finger takes a string over that still sounds, or only just stopped
TOGETHER_S = 0.04
# A finger is named from this likelihood on, not from an even one: of many picks and few fingers most are named rightly
# (highest F) at half the F that is reached. Z. Lipton, C. Elkan and B. Naryanaswamy, "Optimal Thresholding of
# Classifiers to Maximize F1 Measure", ECML PKDD 2014.
FINGER_NAMED = 0.43
# Logistic weights, learned by ``python -m tests.touch_learning`` for an earlier network: those learned for this one
# named as many lines' fingers rightly and fewer where several overdriven strings sound (F .60 for .73, choosing).
PICKED, LEGATO, RISE, KEPT, TOGETHER, BIAS = -1.23, 0.45, -0.46, 0.16, -1.21, -1.67


@dataclass(frozen=True, slots=True, eq=False)
class TouchMaps:
    """What the several-voices network tells of the hands at each start, and its clock."""

    start_s: float
    hop_s: float
    lowest_midi: int
    picked: NDArray[np.uint8]  # (n_frames, n_pitches)
    legato: NDArray[np.uint8]
    palm: NDArray[np.uint8]
    harmonic: NDArray[np.uint8]


def touch_maps(maps: VoiceMaps) -> TouchMaps:
    """Return the maps of starts alone: little enough to be kept for an hour of sound."""
    return TouchMaps(maps.start_s, maps.hop_s, maps.lowest_midi, maps.picked, maps.legato, maps.palm, maps.harmonic)


def touch_features(
    maps: TouchMaps, loudness: Envelope, onset_s: float, sounding_midi: float, *, together: bool
) -> NDArray[np.float64]:
    """Return what tells pick from finger at the start of a note, shape (5,): two maps, rise, kept level, together."""
    frame = round((onset_s - maps.start_s) / maps.hop_s)
    row = int(np.clip(round(sounding_midi) - maps.lowest_midi, 0, maps.picked.shape[1] - 1))
    span = slice(max(0, frame - BEFORE), max(0, frame + AFTER + 1))
    near = slice(max(0, row - 1), row + 2)
    picked, legato = (float(each[span, near].max(initial=0) / 255) for each in (maps.picked, maps.legato))
    strike = measure_strike(loudness, onset_s, 0.0)
    alone = float(not together)
    return np.array(
        [
            _log_odds(picked),
            _log_odds(legato),
            alone * float(np.clip(strike.rise_db, 0.0, 8.0)),
            alone * float(np.clip(strike.kept_db, -6.0, 6.0)),
            float(together),
        ]
    )


def finger_likelihood(
    maps: TouchMaps, loudness: Envelope, onset_s: float, sounding_midi: float, *, together: bool
) -> float:
    """Return how likely the fretting hand alone began a note, 0 to 1."""
    return float(1.0 / (1.0 + np.exp(-finger_log_odds(maps, loudness, onset_s, sounding_midi, together=together))))


def finger_log_odds(
    maps: TouchMaps, loudness: Envelope, onset_s: float, sounding_midi: float, *, together: bool
) -> float:
    """Return the log-odds that the fretting hand alone began a note."""
    told = touch_features(maps, loudness, onset_s, sounding_midi, together=together)
    return float(told @ np.array([PICKED, LEGATO, RISE, KEPT, TOGETHER]) + BIAS)


def palm_likelihood(maps: TouchMaps, onset_s: float, sounding_midi: float) -> float:
    """Return how likely the palm lay on the string when a note was picked, 0 to 1: not where a harmonic rings.

    Mean of the map around the onset, each place counted as the map of picks says: elsewhere it means nothing.
    """
    if harmonic_likelihood(maps, onset_s, sounding_midi) >= BELL_RINGS:
        return 0.0
    frame, row = _place(maps, onset_s, sounding_midi)
    near = np.s_[max(0, frame - AT_PICK) : max(0, frame + AT_PICK + 1), max(0, row - 1) : row + 2]
    here = maps.picked[near].astype(np.float64) ** 2
    return float((maps.palm[near] / 255 * here).sum() / max(1.0, here.sum()))


def harmonic_likelihood(maps: TouchMaps, onset_s: float, sounding_midi: float) -> float:
    """Return how likely a finger only touched the string over a node when a note was picked, 0 to 1.

    Half by the most the map says about the onset, half by its mean just after: a real string's bell comes out late, and
    an ordinary note is taken for one for a moment only. Nothing where the map of picks shows none.
    """
    frame, row = _place(maps, onset_s, sounding_midi)
    picked = maps.picked[max(0, frame - AT_PICK) : max(0, frame + AT_PICK + 1), row]
    bell = maps.harmonic[max(0, frame - 1) : max(0, frame + 1 + BELL_AFTER), row] / 255
    after = maps.harmonic[max(0, frame + 1) : max(0, frame + 1 + BELL_AFTER), row] / 255
    if after.size == 0:
        return 0.0
    begun = min(1.0, float(picked.sum(dtype=np.float64)) / 255)
    return begun * float(bell.max() + after.mean()) / 2


def _place(maps: TouchMaps, onset_s: float, sounding_midi: float) -> tuple[int, int]:
    frame = round((onset_s - maps.start_s) / maps.hop_s)
    return frame, int(np.clip(round(sounding_midi) - maps.lowest_midi, 0, maps.picked.shape[1] - 1))


def may_pass_on(left_midi: float, left_end_s: float, midi: float, onset_s: float) -> bool:
    """True when a finger could have gone on from one note to another on a string: near in time and pitch."""
    return abs(onset_s - left_end_s) <= SLOWEST_S and LEAST_SEMITONES < abs(midi - left_midi) <= WIDEST_SEMITONES


def _log_odds(share: float) -> float:
    return float(np.log((share + 0.03) / (1.03 - share)))
