"""How the pitch made one move: in one jump, fret by fret, or in a glide."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.notes.moves import Line, Move
from transcribe.notes.quick import quick_pitch
from transcribe.settings import NoteSettings
from transcribe.units import hz_from_midi

Manner = Literal["jump", "stairs", "glide"]
LOOK_HOP_S = 0.0025
MARGIN_S = 0.03
BLUR_OF_MAPS_S = 0.012  # a step in the maps of several voices takes a frame


@dataclass(frozen=True, slots=True)
class Shape:
    """The manner of a move and how plain it was."""

    manner: Manner
    sure: float  # 0.5 (a toss-up) to 1
    middle_s: float  # when it was half-way
    arrival_s: float  # when it had come nearly all the way
    taken_s: float  # for the middle seven tenths of the way

    def pace(self, semitones: float) -> float:
        """Return semitones a second over the whole of a smooth move: its middle seven tenths take 0.45 of the time."""
        return abs(semitones) * 0.45 / max(self.taken_s, LOOK_HOP_S)


def shape_of(move: Move, line: Line, recording: Recording, settings: NoteSettings, *, mixed: bool = False) -> Shape:
    """Return how the move went, read with ``quick_pitch`` from the recording.

    That sees one string alone: in a move that is ``mixed`` with the sound of others, the line itself is looked at.
    Only the middle seven tenths of the way count. A jump crosses them within two periods of the tone and a little; a
    slide of two frets or more dwells on the frets between; everything else is a glide.
    """
    times = line.times_s
    begin_s, end_s = float(times[move.first]), float(times[move.last])
    look = np.arange(max(begin_s - MARGIN_S, line.start_s), min(end_s + MARGIN_S, line.end_s), LOOK_HOP_S)
    low, high = sorted((move.from_midi, move.to_midi))
    if mixed:
        seen = np.interp(look, times, line.midi)
    else:
        seen = quick_pitch(recording, look, low_midi=low - 0.8, high_midi=high + 0.8)
    share = (seen - move.from_midi) / move.semitones
    known = np.isfinite(share)
    if known.sum() < 0.5 * share.size:  # too noisy for quick eyes: go by the slow ones
        seen = np.interp(look, times, line.midi)
        share = (seen - move.from_midi) / move.semitones
        known = np.ones(share.size, dtype=bool)
    place = np.arange(share.size)
    crossed = np.flatnonzero(known & (share > 0.5))
    half = int(crossed[0]) if crossed.size else share.size // 2
    waiting = np.flatnonzero(known & (share <= 0.15) & (place < half))
    first = int(waiting[-1]) if waiting.size else 0
    done = np.flatnonzero(known & (share >= 0.85) & (place >= half))
    last = int(done[0]) if done.size else share.size - 1
    between = (place >= first) & (place <= last) & known & (share > 0.1) & (share < 0.9)
    middle_s = float(look[half])
    arrival_s = float(look[last])
    taken_s = (last - first) * LOOK_HOP_S
    blur_s = 1.5 / float(hz_from_midi(low)) + (BLUR_OF_MAPS_S if mixed else 0.0)
    if abs(move.semitones) >= 1.5 and between.sum() >= 3:
        from_fret = np.abs(seen[between] - move.to_midi - np.round(seen[between] - move.to_midi))
        dwell = float(np.mean(from_fret < 0.2))
        if taken_s > blur_s + 0.008 and dwell > settings.grid_share:
            return Shape("stairs", min(1.0, 0.5 + (dwell - settings.grid_share) * 1.5), middle_s, arrival_s, taken_s)
        toss = 0.5 + min(0.5, abs(dwell - settings.grid_share) * 1.5)
    else:
        toss = 1.0
    if taken_s < blur_s + settings.step_s * 0.4:
        return Shape(
            "jump", min(1.0, 0.5 + (blur_s + settings.step_s * 0.4 - taken_s) / 0.02), middle_s, arrival_s, taken_s
        )
    return Shape(
        "glide", min(toss, 0.5 + (taken_s - blur_s - settings.step_s * 0.4) / 0.04), middle_s, arrival_s, taken_s
    )


def runs_into(
    recording: Recording, *, held_midi: float, next_midi: float, strike_s: float, settings: NoteSettings
) -> bool:
    """True when the pitch travels from where it was held to the next picked pitch before that is picked.

    That is a slide picked again on arrival. The last 150 ms before the strike are read with ``quick_pitch``; the way
    must be passed through and not jumped, or the strike was merely noted late.
    """
    if abs(next_midi - held_midi) < 1.5:
        return False
    look = np.arange(strike_s - 0.15, strike_s - 0.006, LOOK_HOP_S)
    low, high = sorted((held_midi, next_midi))
    seen = quick_pitch(recording, look, low_midi=low - 0.8, high_midi=high + 0.8)
    share = (seen - held_midi) / (next_midi - held_midi)
    if not np.isfinite(share[:12]).any() or not np.isfinite(share[-6:]).any():
        return False
    between = np.isfinite(share) & (share > 0.2) & (share < 0.85)
    arrived = np.nanmax(share[-6:], initial=0.0) > (0.7 if abs(next_midi - held_midi) > 2.5 else 0.4)
    left_s = float(between.sum()) * LOOK_HOP_S
    return bool(arrived and settings.shift_least_s <= left_s and np.nanmedian(share[:12]) < 0.25)
