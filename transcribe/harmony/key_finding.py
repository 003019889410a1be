"""The key of a line: hints over the pitch classes, weighed by the degree that each would be, and a softmax of the sums.

The weights (``key_weights``) are a multinomial logistic regression on folk melodies with stated keys, whole and cut to
two to four bars, so that the shares of belief are probabilities; habits of the guitar and chords told, for which there
is no such corpus, are added with weights of our own. Profiles over degrees as in C. Krumhansl, E. Kessler, "Tracing the
dynamic changes in perceived tonal organization", Psychological Review 89 (1982), learned instead of asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from transcribe.harmony.backing import backing_tones
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key, Mode
from transcribe.harmony.key_backing import backing_hints
from transcribe.harmony.key_guitar import guitar_hints
from transcribe.harmony.key_hints import HINTS, Hints, hints
from transcribe.harmony.key_weights import BY_HINT, MINOR
from transcribe.harmony.sounding import Sounded
from transcribe.settings import HarmonySettings

# Names with the fewest sharps or flats in their signature; F# rather than Gb, Eb minor rather than D# minor.
MAJOR_NAMES = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
MINOR_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")


def find_key(
    line: Sequence[Sounded],
    bar_quarters: Fraction | None = None,
    settings: HarmonySettings | None = None,
    *,
    given: Sequence[ChordSpan] = (),
    capo: int = 0,
) -> Key | None:
    """Return the likeliest key, its confidence (0 to 1) and the runner-up in words; None for no pitched note.

    ``bar_quarters`` is the length of a bar, None where nobody knows the bars; ``given`` the chords told under the
    line.

    >>> line = [
    ...     Sounded(f"n{k}", pitch, pitch, Fraction(k), Fraction(1), Fraction(k + 1))
    ...     for k, pitch in enumerate((67, 69, 71, 72, 74, 71, 69, 66, 67))
    ... ]
    >>> find_key(line, Fraction(4)).tonic
    'G'
    """
    if not line:
        return None
    settings = settings or HarmonySettings()
    sums = scores(hints(line, bar_quarters, backing_tones(given))) + guitar_scores(line, settings, capo)
    sums /= spread(line, settings)
    beliefs = shares(sums + backing_hints(given) @ np.asarray(settings.backing_weights))
    best, second = (int(index) for index in np.argsort(-beliefs, kind="stable")[:2])
    return Key(
        *named(best), confidence=float(beliefs[best]), source="estimated", runner_up="{} {}".format(*named(second))
    )


def named(index: int) -> tuple[str, Mode]:
    """Return tonic and mode of one of the 24 keys: the major ones from C up, then the minor ones."""
    return (MAJOR_NAMES[index], "major") if index < 12 else (MINOR_NAMES[index - 12], "minor")


def scores(found: Hints) -> NDArray[np.float64]:
    """Return what the hints of a line add up to for each of the 24 keys, in nats."""
    return scores_by(found, *weights())


def scores_by(found: Hints, tables: NDArray[np.float64], minor: float) -> NDArray[np.float64]:
    """Return the sums by other weights: ``tables`` of shape (2, 17, 12) by mode, hint and degree, ``minor`` on top."""
    turned = np.array([np.roll(found, -tonic, axis=1) for tonic in range(12)])
    major_sums, minor_sums = np.einsum("thd,mhd->mt", turned, tables)
    return np.concatenate([major_sums, minor_sums + minor])


def guitar_scores(line: Sequence[Sounded], settings: HarmonySettings, capo: int = 0) -> NDArray[np.float64]:
    """Return what the habits of the guitar add for each of the 24 keys, in nats."""
    return np.asarray(guitar_hints(line, capo) @ np.asarray(settings.guitar_weights))


def spread(line: Sequence[Sounded], settings: HarmonySettings) -> float:
    """Return by how much what a line says is to be divided, 1 or more: lines that say less than they seem to.

    Without a half step nothing parts a major key from its relative minor but stress; and the weights come from single
    lines, so that several strings at once are read less surely. (Temperature, as in C. Guo et al., ICML 2017.)
    """
    classes = {note.pitch % 12 for note in line}
    gapped = not any((tone + 1) % 12 in classes for tone in classes)
    together = any(after.start < note.held_until for note, after in pairwise(line))
    return (settings.spread_without_half_steps if gapped else 1.0) * (settings.spread_of_several if together else 1.0)


def shares(sums: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how much each of the 24 keys is believed in, summing to 1."""
    grown = np.exp(sums - sums.max())
    return np.asarray(grown / grown.sum())


@cache
def weights() -> tuple[NDArray[np.float64], float]:
    """Return the shipped weights: shape (2, 17, 12) by mode, hint and semitones above the tonic, and that of minor."""
    return np.array([[BY_HINT[name][mode] for name in HINTS] for mode in (0, 1)]), MINOR
