"""The pitch of one note as it moves, from what was measured, or from its gestures where nothing was."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.note import Contour, Note
from transcribe.settings import MidiSettings

Curve = tuple[NDArray[np.float64], NDArray[np.float64]]
MOST_POINTS = 20_000  # bounds memory for a note that a broken document makes hours long


def pitch_curve(note: Note, end_s: float, settings: MidiSettings) -> Curve:
    """Return times in seconds and cents from the note's midi, both shape (n_points,), the first at the onset.

    The measured contour is taken as it is; gaps in it hold the last pitch. Without one, bends, slide and vibrato are
    drawn as straight lines and a sine. A dead note has no pitch to move.
    """
    if note.mute == "dead":
        return np.array([note.onset_s]), np.array([0.0])
    measured = _measured(note.contour, note.onset_s, end_s) if note.contour is not None else None
    return _drawn(note, end_s, settings) if measured is None else measured


def _measured(contour: Contour, onset_s: float, end_s: float) -> Curve | None:
    """Return the readable part of a contour inside the note, or None when there is none."""
    cents = np.array([np.nan if reading is None else reading for reading in contour.cents], dtype=np.float64)
    times_s: NDArray[np.float64] = contour.start_s + contour.hop_s * np.arange(cents.size, dtype=np.float64)
    inside = np.isfinite(cents) & (times_s < end_s)
    cents, times_s = cents[inside], times_s[inside]
    if not cents.size:
        return None
    # The latest reading at or before the onset opens the note, or the first after it.
    first = max(0, int(np.searchsorted(times_s, onset_s, side="right")) - 1)
    times_s, cents = times_s[first:].copy(), cents[first:]
    times_s[0] = onset_s
    return times_s, cents


def _drawn(note: Note, end_s: float, settings: MidiSettings) -> Curve:
    knots = _knots(note, end_s, settings)
    moves = len(knots) > 1 or note.vibrato is not None
    step_s = max(settings.bend_step_s, (end_s - note.onset_s) / MOST_POINTS)
    points = max(1, int(np.ceil((end_s - note.onset_s) / step_s))) if moves else 1
    times_s: NDArray[np.float64] = note.onset_s + step_s * np.arange(points, dtype=np.float64)
    knot_times_s = np.maximum.accumulate([time_s for time_s, _ in knots])
    cents = np.interp(times_s, knot_times_s, [level for _, level in knots]) + (note.cents or 0.0)
    if note.vibrato is not None:
        settled_s = max((bend.reach_s for bend in note.bends), default=note.onset_s)
        since_s = times_s - max(settled_s, note.onset_s + settings.vibrato_delay_s)
        wave = np.sin(2 * np.pi * note.vibrato.rate_hz * since_s)
        cents = cents + np.where(since_s > 0, note.vibrato.extent_cents * wave, 0.0)
    return times_s, cents


def _knots(note: Note, end_s: float, settings: MidiSettings) -> list[tuple[float, float]]:
    """Return the corners of the note's pitch in time order: seconds, and cents above the fretted pitch."""
    glide_s = min(settings.glide_s, (end_s - note.onset_s) / 2)
    slide = note.slide
    level = 0.0
    knots = [(note.onset_s, 0.0)]
    if slide is not None and slide.kind == "in":
        knots = [(note.onset_s, -slide.cents), (note.onset_s + glide_s, 0.0)]
    for bend in note.bends:
        if bend.kind == "pre-bend":
            level = bend.reached_cents
            knots = [*knots, (bend.start_s, level)] if bend is not note.bends[0] else [(note.onset_s, level)]
            continue
        knots += [(bend.start_s, level), (bend.reach_s, bend.reached_cents)]
        level = bend.reached_cents
    if slide is not None and slide.kind != "in":
        knots += [(end_s - glide_s, level), (end_s, level + slide.cents)]
    return knots
