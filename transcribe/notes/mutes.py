"""Palm mutes, dead notes and natural harmonics, by how the sound dies and what it is made of."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from transcribe.notes.attack import ENVELOPE_HOP_S, Envelope, Strike
from transcribe.notes.note import Harmonic, Mute, Note
from transcribe.settings import NoteSettings

# Lines of training guitars: muted notes .83 and above, open ones .53 and below. With it F is .991, 1.000, .987 clean,
# driven, by phone (``tests.benchmark_gestures --choosing``).
PALM_SURE = 0.69
DEAD_FOR_ALL = 0.3  # so little pitch leaves no palm-muted note: .37 and above, the same riffs
# Bells of training guitars (``tests.benchmark_gestures --choosing``): F .978, .936, .901 clean, by phone, driven; at
# .55 it was .965, .951, .883, at .65 .971, .921, .906.
HARMONIC_SURE = 0.6
HARMONIC_PLAIN, HARMONIC_LEAST = 0.75, 0.35  # between these a note is doubted, named or not


@dataclass(frozen=True, slots=True)
class Decay:
    """How one note dies."""

    db_per_s: float  # slope of the level from 30 ms to 0.2 s after the onset; below zero when it falls
    dull_db: float  # level above 2 kHz against the whole, 20 to 60 ms after the onset


def measure_decay(loudness: Envelope, onset_s: float, end_s: float) -> Decay:
    """Return how the sound dies between the onset and the end of a note."""
    until = min(onset_s + 0.2, max(end_s, onset_s + 0.06))
    level = loudness.span(loudness.all_db, onset_s + 0.03, until)
    slope = 0.0
    if level.size >= 4:
        slope = float(np.polyfit(np.arange(level.size) * ENVELOPE_HOP_S, level, 1)[0])
    whole = np.median(loudness.span(loudness.all_db, onset_s + 0.02, onset_s + 0.06))
    high = np.median(loudness.span(loudness.high_db, onset_s + 0.02, onset_s + 0.06))
    return Decay(db_per_s=slope, dull_db=float(high - whole))


def mute_of(
    decay: Decay,
    *,
    usual_dull_db: float,
    salience: float,
    picked: bool,
    settings: NoteSettings,
    palm: float | None = None,
) -> Mute:
    """Return what muted the note: the palm makes it short and dull, a finger laid on the string leaves a knock.

    ``usual_dull_db`` is how dull the take's bright notes are: a guitar with its tone turned down is dull throughout.
    ``palm`` is how likely the several-voices network finds a palm, 0 to 1: where it was asked it decides, for a
    distorted note hardly dies and a telephone's is always dull.
    """
    if not picked:
        return "none"
    under_palm = palm is not None and palm >= PALM_SURE
    if decay.db_per_s < -settings.dead_db_per_s and salience < (DEAD_FOR_ALL if under_palm else settings.dead_salience):
        return "dead"
    if palm is not None:
        return "palm" if under_palm else "none"
    dull = min(decay.dull_db - usual_dull_db + settings.palm_duller_db, decay.dull_db - settings.palm_dull_db) < 0
    if decay.db_per_s < -settings.palm_db_per_s and dull and decay.dull_db < usual_dull_db - 3.0:
        return "palm"
    return "palm" if decay.db_per_s < -settings.palm_short_db_per_s else "none"


def harmonic_of(touched: float, note: Note) -> tuple[Harmonic, str | None]:
    """Return whether a note is a natural harmonic, and the doubt about that in words or None.

    ``touched`` is how likely the several-voices network finds it so, 0 to 1. An open string that is touched is picked,
    and neither bent, slid nor muted.
    """
    plain = note.attack == "picked" and not note.bends and note.slide is None and note.mute == "none"
    if not plain or touched < HARMONIC_LEAST:
        return "none", None
    doubt = "natural harmonic or fretted: not plain" if touched < HARMONIC_PLAIN else None
    return "natural" if touched >= HARMONIC_SURE else "none", doubt


def is_knock(strike: Strike, loudness: Envelope, settings: NoteSettings) -> bool:
    """True when a strike that began no pitch is a dead note: a plain pick whose sound is gone at once."""
    burst = loudness.span(loudness.all_db, strike.time_s - 0.005, strike.time_s + 0.03).max()
    later = np.median(loudness.span(loudness.all_db, strike.time_s + 0.06, strike.time_s + 0.1))
    stands_out = strike.rise_db > settings.knock_rise_db and burst - later > settings.knock_drop_db
    cut_short = strike.rise_db > settings.knock_least_rise_db and burst - later > settings.knock_deep_drop_db
    return bool(strike.pick_likelihood > 0.8 and (stands_out or cut_short))
