"""The pitch wheel through one note: bends, releases, slides and vibrato, as a guitarist would make them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.intonation import nearest_size_cents
from transcribe.notes.moves import Line, Move, beside_waves, find_moves, find_waves, without_waves
from transcribe.notes.note import Bend, BendKind, Contour, SlideKind, Vibrato
from transcribe.settings import NoteSettings

HOP_S = 0.01
LONGEST_S = 60.0  # a longer note is looked at this far: bounds memory for a note that a broken file makes hours long
GLIDE_S = 0.2  # a rise in the last part of a note, this long at most, that runs into the next pitch is a slide
LEAST_CENTS = NoteSettings().bend_least_cents

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gestures:
    """What the wheel did through one note."""

    rest_cents: float  # where the string rests against the key that was struck
    bends: tuple[Bend, ...] = ()
    slide: tuple[SlideKind, float] | None = None  # kind and signed cents
    vibrato: Vibrato | None = None
    contour: Contour | None = None
    dips: bool = False  # the pitch falls below the note, as no finger can make it


def wheel_gestures(
    times_s: Floats, semitones: Floats, *, onset_s: float, end_s: float, next_semitones: float | None = None
) -> Gestures:
    """Return what a pitch wheel did during a note.

    Parameters
    ----------
    times_s, semitones : array, shape (n,)
        The wheel: from each time on it stands at this many semitones.
    onset_s, end_s : float
        The note.
    next_semitones : float or None
        Interval to the note that follows on the same channel without a gap: a last rise that arrives there is a slide.
    """
    grid_s = onset_s + HOP_S * np.arange(
        max(1, int(np.ceil((min(end_s, onset_s + LONGEST_S) - onset_s) / HOP_S - 1e-9)))
    )
    at = np.searchsorted(times_s, grid_s + 1e-9, side="right") - 1
    sounding = np.where(at >= 0, semitones[np.maximum(at, 0)], 0.0)
    if not sounding.any():
        return Gestures(0.0)
    contour = Contour(onset_s, HOP_S, tuple(float(round(value, 1)) for value in 100.0 * sounding))
    if np.ptp(sounding) * 100.0 < NoteSettings().move_least_cents / 2 and abs(sounding[0]) * 100.0 < LEAST_CENTS:
        return Gestures(100.0 * float(np.median(sounding)), contour=contour)
    return _read(sounding, contour, onset_s, end_s, next_semitones)


def _read(sounding: Floats, contour: Contour, onset_s: float, end_s: float, next_semitones: float | None) -> Gestures:
    settings = NoteSettings()
    line = Line(onset_s, HOP_S, sounding, np.ones_like(sounding))
    waves = find_waves(line, settings)
    calm = without_waves(line, waves)
    moves = list(beside_waves(find_moves(calm, hop_s=HOP_S, settings=settings), waves, HOP_S))
    slide: tuple[SlideKind, float] | None = None
    last = moves[-1] if moves else None
    if last is not None and _runs_on(last, sounding.size, next_semitones):
        slide = ("legato", 100.0 * round(next_semitones or 0.0))
        moves.pop()
    elif last is not None and last.to_midi <= -1.2 and last.held_after * HOP_S < settings.hold_s:
        slide = ("out", 100.0 * last.to_midi)
        moves.pop()
    if moves and moves[0].from_midi <= -1.2 and moves[0].held_before * HOP_S < settings.hold_s:
        slide = slide or ("in", -100.0 * moves[0].from_midi)
        moves.pop(0)
    elif moves and moves[0].held_before == 0 and moves[0].semitones > 0 and sounding[0] * 100.0 < LEAST_CENTS:
        moves[0] = replace(moves[0], from_midi=0.0)
    bends = _bends(calm, moves, onset_s, end_s)
    told = [wave for wave in waves if wave.extent_cents >= settings.vibrato_told_cents]
    longest = max(told, key=lambda wave: wave.last - wave.first, default=None)
    return Gestures(
        rest_cents=0.0,
        bends=bends,
        slide=slide,
        vibrato=None if longest is None else Vibrato(longest.rate_hz, longest.extent_cents),
        contour=contour,
        dips=any(100.0 * move.to_midi <= -LEAST_CENTS for move in moves),
    )


def _runs_on(move: Move, samples: int, next_semitones: float | None) -> bool:
    """True when the pitch is on its way to the next note as that begins."""
    if next_semitones is None or abs(next_semitones) < 0.6 or move.semitones * next_semitones <= 0:
        return False
    late = (samples - move.first) * HOP_S <= GLIDE_S and move.held_after * HOP_S <= 0.03
    return late and abs(move.to_midi - next_semitones) <= max(0.5, 0.35 * abs(next_semitones))


def _bends(calm: Floats, moves: list[Move], onset_s: float, end_s: float) -> tuple[Bend, ...]:
    steps: list[tuple[BendKind, float, float, float]] = []  # kind, start and reach in seconds, cents
    first = 100.0 * (moves[0].from_midi if moves else float(np.median(calm)))
    if first >= LEAST_CENTS:
        steps.append(("pre-bend", onset_s, onset_s, first))
    for move in moves:
        goal = 100.0 * move.to_midi
        start_s, reach_s = onset_s + HOP_S * move.first, onset_s + HOP_S * (move.last + 1)
        if move.semitones > 0 and goal >= LEAST_CENTS:
            steps.append(("bend", start_s, min(reach_s, end_s), goal))
        elif move.semitones < 0 and steps and steps[-1][3] >= LEAST_CENTS:
            steps.append(("release", start_s, min(reach_s, end_s), max(0.0, goal)))
    made = []
    for index, (kind, start_s, reach_s, goal) in enumerate(steps):
        until_s = steps[index + 1][1] if index + 1 < len(steps) else end_s
        target = 0.0 if kind == "release" and goal < LEAST_CENTS else nearest_size_cents(goal)
        made.append(Bend(kind, start_s, reach_s, max(reach_s, until_s), target, round(goal, 1)))
    return tuple(made)
