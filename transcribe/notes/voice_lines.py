"""The pitch of each voice to a cent or two: from its partials where it sounds alone, else from those that are free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.evidence.refine import read_pitches
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.moves import Company, Line, find_waves
from transcribe.notes.voices import Voice
from transcribe.settings import Settings

Floats = NDArray[np.float64]

FARTHEST = 0.3  # semitones the map's pitch is moved at most
MOVING_SEMITONES = 0.12  # the map's own unsteadiness is half of this; a vibrato of 8 cents swings by 0.16
SAME_SEMITONES = 0.3  # nearer voices lie on one peak of the map
LEAST_FRAMES = 5  # of a voice by itself, or beside others, for its partials to be read
FADING_FRAMES = 6  # what the partials said holds so long where they say nothing more


def lines_of_voices(
    recording: Recording, maps: VoiceMaps, voices: Sequence[Voice], beside: Sequence[Floats], settings: Settings
) -> tuple[Line, ...]:
    """Return the pitch line of every voice, in their order; ``beside`` is what ``beside_each`` tells of them.

    Where its partials say nothing the map's pitch stands, moved by what they said just before or after. Beside others
    only a voice that moves is read so: a bend is measured by its partials, a held fret needs no such care, and time is
    saved.
    """
    lines = [Line(maps.start_s + voice.first * maps.hop_s, maps.hop_s, voice.midi, voice.contour) for voice in voices]
    alone = [~np.isfinite(others).any(axis=1) for others in beside]
    fine = [np.full(line.midi.size, np.nan) for line in lines]
    single = [k for k, each in enumerate(alone) if each.sum() >= LEAST_FRAMES]
    told = read_pitches(recording, [(lines[k].times_s, lines[k].midi, None) for k in single], settings.evidence)
    for k, read in zip(single, told, strict=True):
        fine[k][alone[k]] = read.midi[alone[k]]
    mixed = [
        k
        for k, line in enumerate(lines)
        if (~alone[k]).sum() >= LEAST_FRAMES and (_moves(line.midi) or find_waves(line, settings.notes))
    ]
    told = read_pitches(recording, [(lines[k].times_s, lines[k].midi, beside[k]) for k in mixed], settings.evidence)
    for k, read in zip(mixed, told, strict=True):
        fine[k][~alone[k]] = read.midi[~alone[k]]
    return tuple(_drawn(line, each) for line, each in zip(lines, fine, strict=True))


def _drawn(line: Line, fine: Floats) -> Line:
    """The line at the pitch its partials told, ``fine``, NaN where they say nothing."""
    known = np.flatnonzero(np.abs(fine - line.midi) < FARTHEST)
    if known.size < 2:
        return line
    frames = np.arange(fine.size)
    shift = np.interp(frames, known, (fine - line.midi)[known])
    return replace(line, midi=line.midi + shift * np.exp(-_frames_to(known, frames) / FADING_FRAMES))


def _frames_to(known: NDArray[np.intp], frames: NDArray[np.intp]) -> NDArray[np.intp]:
    """How far each frame lies from the nearest of ``known``, which rise."""
    after = np.searchsorted(known, frames)
    later, earlier = known[np.minimum(after, known.size - 1)], known[np.maximum(after - 1, 0)]
    return np.minimum(np.abs(later - frames), np.abs(frames - earlier))


def _moves(midi: Floats) -> bool:
    """True for a pitch that is bent, slid or shaken, not merely held."""
    low, high = np.percentile(midi, [4, 96])
    return bool(high - low > MOVING_SEMITONES)


def company_of(voice: Voice, beside: Floats) -> Company:
    """Return where others sound beside a voice, and where at its own pitch; ``beside``: see ``beside_each``."""
    same = np.abs(beside - voice.midi[:, None]) < SAME_SEMITONES
    return Company(np.asarray(np.isfinite(beside).any(axis=1)), np.asarray(same.any(axis=1)))
