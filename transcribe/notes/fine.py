"""The pitch of each stretch to a cent or two, and how far the whole guitar stands from the reference."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.evidence.reference import TuningOffset, tuning_offset
from transcribe.evidence.refine import read_pitches
from transcribe.notes.lines import Stretch
from transcribe.notes.moves import Line
from transcribe.settings import Settings

FARTHEST = 0.5  # semitones: where the partials are silent, the map is trusted to this


def fine_lines(recording: Recording, stretches: tuple[Stretch, ...], settings: Settings) -> tuple[Line, ...]:
    """Return each stretch's line with the pitch read from the partials.

    Where these say nothing (noise, a change of fret), the map's pitch stands, moved by what the partials said nearby.
    """
    lines = []
    asked = [(stretch.line.times_s, stretch.line.midi, None) for stretch in stretches]
    for stretch, told in zip(stretches, read_pitches(recording, asked, settings.evidence), strict=True):
        line, fine = stretch.line, told.midi
        known = np.flatnonzero(np.isfinite(fine))
        if known.size >= 2:
            shift = np.interp(np.arange(fine.size), known, (fine - line.midi)[known])
            coarse = line.midi + np.clip(shift, -FARTHEST, FARTHEST)
            line = replace(line, midi=np.where(np.isfinite(fine), fine, coarse))
        lines.append(line)
    return tuple(lines)


def tuning_of(lines: tuple[Line, ...], settings: Settings, *, reference_hz: float) -> TuningOffset:
    """Return how far the steady pitches of all lines stand from the reference; see ``tuning_offset``.

    The lines are set one after another with a gap, whether or not they overlap in time.
    """
    if not lines:
        return tuning_offset(np.zeros(0), np.zeros(0), settings.evidence, reference_hz=reference_hz)
    hop_s = lines[0].hop_s
    midi = np.concatenate([np.append(line.midi, np.nan) for line in lines])
    clock = np.arange(midi.size, dtype=np.float64) * hop_s
    return tuning_offset(clock, midi, settings.evidence, reference_hz=reference_hz)
