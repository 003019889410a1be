"""One stretch of pitch to notes with bends, slides and vibrato.

The rules a player would give: a string pushed sideways rises smoothly and comes back to where its fret put it; a
finger that slides passes every fret on the way; a hammered or pulled finger changes the pitch at once. A fall with no
push before it, right after a pick, is a bend made before the pick.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.notes.move_reader import MoveReader
from transcribe.notes.moves import Company, Line, Move, beside_waves, find_moves, find_waves, without_waves
from transcribe.notes.part import OpenPart, Part
from transcribe.notes.shape import runs_into, shape_of
from transcribe.settings import NoteSettings

Floats = NDArray[np.float64]
NOWHERE_SEMITONES = 0.05  # a move between two rests this near got nowhere


def read_parts(
    line: Line,
    *,
    onset_s: float,
    end_s: float,
    picked: bool,
    next_midi: float | None,
    recording: Recording,
    offset_semitones: float,
    settings: NoteSettings,
    company: Company | None = None,
) -> tuple[Part, ...]:
    """Return the notes of one stretch in time order, at least one.

    Parameters
    ----------
    line : Line
        Sounding pitch, tuning offset already removed.
    onset_s, end_s : float
        When the stretch was struck (or began) and when it stops.
    picked : bool
        It began with a pick.
    next_midi : float or None
        Pitch at which the following stretch, picked without a pause, begins: a slide into it is a shift.
    recording : Recording
        For the shape of each move.
    offset_semitones : float
        The tuning offset that was removed from ``line``: the recording still has it.
    company : Company, optional
        Where other strings sound too.
    """
    waves = find_waves(line, settings)
    calm = without_waves(line, waves)
    sounding = replace(line, midi=calm + offset_semitones)
    moves = beside_waves(find_moves(calm, hop_s=line.hop_s, settings=settings), waves, line.hop_s)
    moves = tuple(move for move in moves if abs(move.semitones) > NOWHERE_SEMITONES)
    reader = MoveReader(line, calm, waves, end_s, settings, OpenPart(onset_s, "picked" if picked else "unknown", 0))
    shift = 0.0
    if next_midi is not None:
        held = _last_hold(calm, moves, settings.hold_s / line.hop_s)
        if runs_into(
            recording,
            held_midi=held + offset_semitones,
            next_midi=next_midi + offset_semitones,
            strike_s=end_s,
            settings=settings,
        ):
            shift = 100.0 * round(next_midi - held)
    for k, move in enumerate(moves):
        moved = replace(move, from_midi=move.from_midi + offset_semitones, to_midi=move.to_midi + offset_semitones)
        if company is not None and _is_anothers(move, company):
            continue
        among = company is not None and bool(company.mixed[move.first : move.last + 1].any())
        shape = shape_of(moved, sounding, recording, settings, mixed=among)
        reader.take(move, shape, is_last=k + 1 == len(moves), shift_cents=shift)
    return reader.finish(shift_cents=shift)


def _is_anothers(move: Move, company: Company) -> bool:
    """True when another string's pitch was taken for this one's: a fall onto it, or a move along it all the way."""
    taken = company.taken[move.first : move.last + 1]
    return bool(taken.all() or (move.semitones < 0 and taken[-1] and not taken[0]))


def _last_hold(calm: Floats, moves: tuple[Move, ...], hold: float) -> float:
    """Pitch of the last rest of a line."""
    if not moves:
        return float(np.median(calm))
    return moves[-1].from_midi if moves[-1].held_after < hold else moves[-1].to_midi
