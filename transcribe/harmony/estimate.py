"""The key of a line from its notes: how well each of the 24 keys fits, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.harmony.key import Key, Mode
from transcribe.harmony.line import Tone
from transcribe.settings import HarmonySettings

# Twelve names for a major and a minor tonic of each pitch class: the signature with the fewest sharps or flats.
MAJOR_TONICS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
MINOR_TONICS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")

# How well each pitch class, counted from the tonic, fits a key. Probe-tone ratings: C. L. Krumhansl, E. J. Kessler,
# "Tracing the dynamic changes in perceived tonal organization", Psychological Review 89 (1982), table 1.
KRUMHANSL_KESSLER: dict[Mode, tuple[float, ...]] = {
    "major": (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88),
    "minor": (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17),
}
# The share of bars of the Essen folk songs in which each pitch class occurs: D. Temperley, "Music and Probability",
# MIT Press 2007, key profiles of chapter 4 (values from memory).
TEMPERLEY: dict[Mode, tuple[float, ...]] = {
    "major": (0.748, 0.060, 0.488, 0.082, 0.670, 0.460, 0.096, 0.715, 0.104, 0.366, 0.057, 0.400),
    "minor": (0.712, 0.084, 0.474, 0.618, 0.049, 0.460, 0.105, 0.747, 0.404, 0.067, 0.133, 0.330),
}
MODES: tuple[Mode, Mode] = ("major", "minor")


@dataclass(frozen=True, slots=True)
class KeyEstimate:
    """The best key, the next best, and how sure the first is against all others (0 to 1)."""

    key: Key
    runner_up: Key
    confidence: float

    @property
    def in_doubt(self) -> bool:
        """True when another key is nearly as good."""
        return self.confidence < HarmonySettings().key_doubted


def estimate_key(tones: Sequence[Tone], settings: HarmonySettings | None = None) -> KeyEstimate | None:
    """Return the key that fits a line best, with its runner-up; None without notes.

    Each key is scored by the correlation of the durations of its pitch classes with the key's profile (Krumhansl and
    Schmuckler's method, in C. L. Krumhansl, "Cognitive Foundations of Musical Pitch", 1990) and by what the line says
    with its last note, its first downbeat and its lowest stays. Confidence is the softmax of the scores.
    """
    settings = settings or HarmonySettings()
    if not tones:
        return None
    scores = key_scores(tones, settings)
    order = np.argsort(-scores, kind="stable")
    shares = np.exp((scores - scores.max()) * settings.key_sharpness)
    shares /= shares.sum()
    best = _key(int(order[0]), float(shares[order[0]]))
    return KeyEstimate(best, _key(int(order[1]), float(shares[order[1]])), float(shares[order[0]]))


def key_scores(tones: Sequence[Tone], settings: HarmonySettings) -> NDArray[np.float64]:
    """Return 24 scores: the major keys from C up, then the minor ones."""
    chroma = weights(tones, settings)
    scores = np.array([_fit(chroma, tonic, mode, settings) for mode in MODES for tonic in range(12)])
    last, first = tones[-1], _first_strong(tones)
    for index in range(24):
        tonic, minor = index % 12, index >= 12
        third = (tonic + (3 if minor else 4)) % 12
        chord = {tonic, third, (tonic + 7) % 12}
        for tone, weight in ((last, settings.key_last_note), (first, settings.key_first_note)):
            place = tone.midi % 12
            if place == tonic:
                scores[index] += weight
            elif place in chord:
                scores[index] += weight * settings.key_other_tone
    return scores


def weights(tones: Sequence[Tone], settings: HarmonySettings) -> NDArray[np.float64]:
    """Return how much each pitch class sounds, in beats, long notes tapering off, notes on a downbeat counting more."""
    chroma = np.zeros(12)
    for tone in tones:
        length = min(float(tone.end - tone.start), settings.key_longest_beats) ** settings.key_length_power
        chroma[tone.midi % 12] += length * (settings.key_downbeat if tone.on_downbeat else 1.0)
    return chroma


def _fit(chroma: NDArray[np.float64], tonic: int, mode: Mode, settings: HarmonySettings) -> float:
    share = settings.key_temperley
    heard = np.roll(chroma, -tonic)
    return (1 - share) * _correlation(heard, KRUMHANSL_KESSLER[mode]) + share * _correlation(heard, TEMPERLEY[mode])


def _correlation(heard: NDArray[np.float64], profile: Sequence[float]) -> float:
    x, y = heard - heard.mean(), np.asarray(profile) - np.mean(profile)
    norm = float(np.sqrt((x @ x) * (y @ y)))
    return float(x @ y) / norm if norm > 0 else 0.0


def _first_strong(tones: Sequence[Tone]) -> Tone:
    return next((tone for tone in tones if tone.on_downbeat), tones[0])


def _key(index: int, confidence: float) -> Key:
    mode: Mode = MODES[index // 12]
    tonic = (MAJOR_TONICS if mode == "major" else MINOR_TONICS)[index % 12]
    return Key(tonic, mode, confidence=min(1.0, confidence), source="estimated")
