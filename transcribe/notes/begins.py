"""Where notes may begin in the maps of several voices, and how surely each does.

The network's onset maps peak for picks, but also when a ringing string is touched, when another string's partials
grow, and when a body answers each pluck. Every peak, low ones too, is weighed against its surroundings: what sounded
before and goes on after it, what else begins and at which interval, whether the pitch came gliding, whether the same
pitch answers every attack of the take, whether a delay repeats it, and whether new energy stands at the note's own
partials (``partial_rises.py``). Two small networks, trained on made playing by ``training/learn_begins.py``, make
probabilities of it: that a note begins, and that the fretting hand began it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.evidence.voice_maps import VoiceMaps, section, shares
from transcribe.notes.begins_context import context_features
from transcribe.notes.echoes import delay_s
from transcribe.notes.partial_rises import partial_features
from transcribe.settings import NoteSettings

Floats = NDArray[np.float64]
Kind = Literal["picked", "legato"]

WEIGHTS = "begins.json"
SECTION_FRAMES, AROUND_FRAMES = 8192, 1100  # judged at a time, and looked at on either side
LEAST = 0.06  # of either onset map: lower peaks are not looked at
APART_FRAMES, APART_ROWS = 3, 1  # of near rivals the strongest is looked at
LEGATO_GAIN = 1.12  # the legato map runs lower than that of picks: .45 against .4 find as much


@dataclass(frozen=True, slots=True)
class Begin:
    """One place where a note may begin."""

    frame: int
    row: int  # pitch, counted from the maps' lowest
    kind: Kind
    at: float  # in frames, with a fraction
    peak: float  # of the onset map, 0 to 1
    sure: float  # that a note begins here, 0 to 1


def judged_begins(
    recording: Recording, maps: VoiceMaps, settings: NoteSettings, *, least: float = 0.5
) -> tuple[Begin, ...]:
    """Return the places where a note begins with a probability of ``least``, in order of time.

    A long take is judged a minute and a half at a time, each with its surroundings, so that memory stays bounded.
    """
    lag_s = delay_s(recording, settings)
    kept: list[Begin] = []
    for first in range(0, maps.n_frames, SECTION_FRAMES):
        start = max(0, first - AROUND_FRAMES)
        part = section(maps, start, first + SECTION_FRAMES + AROUND_FRAMES)
        found = tuple(begin for begin in possible_begins(part) if first <= begin.frame + start < first + SECTION_FRAMES)
        if not found:
            continue
        features = begin_features(recording, part, found, lag_s=lag_s)
        for begin, sure, legato in zip(found, probability(features), probability(features, "legato"), strict=True):
            if sure >= least:
                kind: Kind = "legato" if legato >= 0.5 else "picked"
                here = replace(begin, frame=begin.frame + start, at=begin.at + start, sure=float(sure), kind=kind)
                kept.append(here)
    return tuple(kept)


def possible_begins(maps: VoiceMaps, *, least: float = LEAST) -> tuple[Begin, ...]:
    """Return every peak of the onset maps of at least ``least``, its sureness that of the peak."""
    found: list[Begin] = []
    for first in range(0, maps.n_frames, SECTION_FRAMES):
        start = max(0, first - 2 * APART_FRAMES)
        part = section(maps, start, first + SECTION_FRAMES + 2 * APART_FRAMES)
        found += [
            replace(begin, frame=begin.frame + start, at=begin.at + start)
            for begin in _peaks(shares(part.picked), shares(part.legato), least)
            if first <= begin.frame + start < first + SECTION_FRAMES
        ]
    return tuple(found)


def _peaks(picked: NDArray[np.float32], legato: NDArray[np.float32], least: float) -> list[Begin]:
    both = np.maximum(picked, LEGATO_GAIN * legato)
    window = _largest_near(_largest_near(both, APART_FRAMES, 0), APART_ROWS, 1)
    taken = np.zeros(both.shape, dtype=bool)
    found = []
    for frame, row in np.argwhere((both >= window) & (both >= least)):
        if taken[max(0, frame - APART_FRAMES) : frame + APART_FRAMES + 1, max(0, row - 1) : row + 2].any():
            continue
        taken[frame, row] = True
        kind: Kind = "picked" if picked[frame, row] >= LEGATO_GAIN * legato[frame, row] else "legato"
        shape_here = (picked if kind == "picked" else legato)[:, row]
        peak = float(shape_here[frame])
        found.append(Begin(int(frame), int(row), kind, top_between(shape_here, int(frame)), peak, peak))
    return found


def _largest_near(values: NDArray[np.float32], reach: int, axis: int) -> NDArray[np.float32]:
    """The largest value within ``reach`` places either way along one axis, shape as given."""
    ahead = np.moveaxis(values, axis, 0)
    largest = ahead.copy()
    for away in range(1, reach + 1):
        np.maximum(largest[away:], ahead[:-away], out=largest[away:])
        np.maximum(largest[:-away], ahead[away:], out=largest[:-away])
    return np.moveaxis(largest, 0, axis)


def top_between(values: NDArray[np.float32], frame: int) -> float:
    """Return the place of a peak between frames, by a parabola through three."""
    if not 0 < frame < values.size - 1:
        return float(frame)
    before, here, after = (float(v) for v in values[frame - 1 : frame + 2])
    bent = before - 2 * here + after
    return frame + (0.0 if bent >= 0 else float(np.clip(0.5 * (before - after) / bent, -0.5, 0.5)))


def begin_features(recording: Recording, maps: VoiceMaps, found: tuple[Begin, ...], *, lag_s: float | None) -> Floats:
    """Return what is known about each possible beginning, shape (n, features).

    ``lag_s`` is the time between a sound and its repeat where the take has a delay effect (``echoes.delay_s``).
    """
    frames = np.array([begin.frame for begin in found])
    rows = np.array([begin.row for begin in found])
    at = np.array([begin.at for begin in found])
    return np.concatenate(
        [context_features(maps, frames, rows, lag_s=lag_s), partial_features(recording, maps, frames, rows, at)], axis=1
    )


def probability(features: Floats, of: Literal["note", "legato"] = "note") -> Floats:
    """Return the probability that a note begins, or that the fretting hand began it if one does, (n,)."""
    weights = _weights()[of]
    hidden = (features - weights["middle"]) / weights["spread"]
    hidden = np.tanh(np.clip(hidden, -6, 6) @ weights["first"] + weights["first_bias"])
    return np.asarray(1 / (1 + np.exp(-(hidden @ weights["second"] + weights["second_bias"]))))


@cache
def _weights() -> dict[str, dict[str, Floats]]:
    told = json.loads(files("transcribe.notes.weights").joinpath(WEIGHTS).read_text(encoding="utf-8"))
    return {
        of: {name: np.array(values, dtype=np.float64) for name, values in told[of].items()} for of in ("note", "legato")
    }
