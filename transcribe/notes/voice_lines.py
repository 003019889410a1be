"""The pitch of each voice to a cent or two: from its partials where it sounds alone, else from those that are free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.evidence.refine import read_pitch, refine_pitch
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
    return tuple(_line(recording, maps, voice, others, settings) for voice, others in zip(voices, beside, strict=True))


def _line(recording: Recording, maps: VoiceMaps, voice: Voice, beside: Floats, settings: Settings) -> Line:
    line = Line(maps.start_s + voice.first * maps.hop_s, maps.hop_s, voice.midi, voice.contour)
    alone = ~np.isfinite(beside).any(axis=1)
    fine = np.full(voice.midi.size, np.nan)
    if alone.sum() >= LEAST_FRAMES:
        told = refine_pitch(recording, line.times_s, line.midi, settings.evidence)
        fine[alone] = told[alone]
    if (~alone).sum() >= LEAST_FRAMES and (_moves(voice.midi) or find_waves(line, settings.notes)):
        told = read_pitch(recording, line.times_s, line.midi, settings.evidence, others_midi=beside).midi
        fine[~alone] = told[~alone]
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
