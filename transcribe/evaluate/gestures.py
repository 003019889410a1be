"""Bends, slides and vibrato of a note found, against those of the reference."""

from __future__ import annotations

import numpy as np

from transcribe.evaluate.matching import Pairs, most_pairs
from transcribe.notes.note import Bend, Slide, Vibrato

TARGET_WINDOW_CENTS = 50.0
SMALLEST_STEP_CENTS = 75.0  # a bend below this is a curl: nearer to a quarter tone than to a semitone
CURL_WINDOW_CENTS = 20.0  # half a quarter tone would let "no curl" and "a semitone" pass
SLIDE_WINDOW_CENTS = 50.0
WAVE_RATE_WINDOW = 0.25  # of the reference rate


def is_curl(bend: Bend) -> bool:
    """Return whether a movement is a quarter-tone curl rather than a bend to a pitch of the scale."""
    return bend.kind != "release" and bend.target_cents < SMALLEST_STEP_CENTS


def match_bends(reference: tuple[Bend, ...], heard: tuple[Bend, ...]) -> Pairs:
    """Return (reference index, heard index) of the movements of one note that agree, each used once.

    Same kind, and targets within 50 cents. That window cannot see a quarter tone, so a curl agrees only with a curl
    that stops within 20 cents of it, and nothing else agrees with one.
    """
    allowed = np.array([[_same_movement(wanted, found) for found in heard] for wanted in reference], dtype=bool)
    return most_pairs(np.argwhere(allowed.reshape(len(reference), len(heard))))


def _same_movement(wanted: Bend, found: Bend) -> bool:
    if wanted.kind != found.kind or is_curl(wanted) != is_curl(found):
        return False
    if is_curl(wanted):
        return abs(wanted.reached_cents - found.reached_cents) <= CURL_WINDOW_CENTS
    return abs(wanted.target_cents - found.target_cents) <= TARGET_WINDOW_CENTS


def same_slide(wanted: Slide, found: Slide) -> bool:
    """Return whether two slides are of one kind and, between notes, as far; in and out need the direction only."""
    if wanted.kind != found.kind:
        return False
    if wanted.kind in ("in", "out"):
        return wanted.cents * found.cents > 0
    return abs(wanted.cents - found.cents) <= SLIDE_WINDOW_CENTS


def same_vibrato(wanted: Vibrato, found: Vibrato) -> bool:
    """Return whether two vibratos run at one rate, within a quarter of it."""
    return abs(wanted.rate_hz - found.rate_hz) <= WAVE_RATE_WINDOW * wanted.rate_hz
