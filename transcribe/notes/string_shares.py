"""What the network of several voices says of the string each note was played on, as shares that can be believed.

The network answers at every frame and pitch; a note takes the mean of its logarithms over the frames in which it is
held. How far such a mean may be trusted was learned on made playing by ``training/learn_strings.py``: a power, and a
share of notes of which it tells nothing.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.voice_maps import VoiceMaps, shares
from transcribe.notes.note import Note

Floats = NDArray[np.float64]
Shares = tuple[float, ...]

WEIGHTS = "strings.json"
AFTER_ATTACK_S = 0.04  # three frames: the network has seen the string's first moments
LONGEST_S = 0.2  # later frames say the same again, or less
LEAST_FRAMES = 3.0  # held, in all
LEAST_SHARE = 1 / 510  # what a byte can tell from nothing


@dataclass(frozen=True, slots=True)
class Trust:
    """How a note's mean is read."""

    power: float  # its logarithms are multiplied by this
    nothing: float  # share of notes of which it tells nothing

    def __post_init__(self) -> None:
        if self.power < 0 or not 0 <= self.nothing <= 1:
            raise ValueError(f"a power at or above 0 and a share from 0 to 1 are needed; got {self}")


def network_shares(
    maps: VoiceMaps, notes: Sequence[Note], *, tuning_semitones: float = 0.0
) -> tuple[Shares | None, ...]:
    """Return for each note the share of every string, string 1 first, each summing to 1; None where none is told.

    ``tuning_semitones`` is how far the guitar stands above A = 440 Hz. Dead notes and harmonics say nothing.
    """
    trust = _trust()
    told = (mean_log_shares(maps, note, tuning_semitones=tuning_semitones) for note in notes)
    return tuple(None if logs is None else tuple(float(x) for x in believed(logs, trust)) for logs in told)


def mean_log_shares(maps: VoiceMaps, note: Note, *, tuning_semitones: float = 0.0) -> Floats | None:
    """Return the mean logarithm of each string's share over a note, shape (6,); None where it is hardly held."""
    if note.mute == "dead" or note.harmonic != "none":
        return None
    first_s = note.onset_s + AFTER_ATTACK_S
    last_s = min(note.offset_s, first_s + LONGEST_S)
    first = max(0, int(np.ceil((first_s - maps.start_s) / maps.hop_s)))
    frames = np.arange(first, min(maps.n_frames, int((last_s - maps.start_s) / maps.hop_s) + 1))
    if frames.size == 0:
        return None
    row = np.round(note.midi + tuning_semitones + _cents_at(note, maps, frames) / 100.0).astype(int) - maps.lowest_midi
    inside = (row >= 0) & (row < maps.held.shape[1])
    frames, row = frames[inside], row[inside]
    held = shares(maps.held[frames, row]).astype(np.float64)
    if held.sum() < LEAST_FRAMES:
        return None
    logs = np.log(np.maximum(shares(maps.string[frames, row]).astype(np.float64), LEAST_SHARE))
    return np.asarray(held @ logs / held.sum())


def believed(logs: Floats, trust: Trust) -> Floats:
    """Return shares for mean logarithms, both (..., 6)."""
    raised = np.exp(trust.power * (logs - logs.max(axis=-1, keepdims=True)))
    return np.asarray(
        (1 - trust.nothing) * raised / raised.sum(axis=-1, keepdims=True) + trust.nothing / logs.shape[-1]
    )


def _cents_at(note: Note, maps: VoiceMaps, frames: NDArray[np.intp]) -> Floats:
    """How far the note stands from its pitch at each frame."""
    rest = np.full(frames.shape, note.cents or 0.0)
    if note.contour is None:
        return rest
    cents = np.array([np.nan if value is None else value for value in note.contour.cents], dtype=np.float64)
    known = np.flatnonzero(np.isfinite(cents))
    if known.size == 0:
        return rest
    clock = note.contour.start_s + note.contour.hop_s * known
    return np.interp(maps.start_s + maps.hop_s * frames, clock, cents[known])


@cache
def _trust() -> Trust:
    told = json.loads(files("transcribe.notes.weights").joinpath(WEIGHTS).read_text(encoding="utf-8"))
    return Trust(told["power"], told["nothing"])
