"""Salience and onset maps to strands: stretches of one sounding pitch line, for one voice or several.

Ridges (``ridges.py``) say what each string may be doing. A Viterbi pass picks the line that explains the map best,
weighing salience against the cost of leaping: cheap at an onset, dear without one, dearest by an octave, which is the
usual error of pitch networks. For several voices the peaks a pass has used are taken away and the next pass runs on
what is left; a ridge keeps its name over the passes, so a string that rings on under a new note stays one strand.

G. D. Forney, "The Viterbi Algorithm", Proceedings of the IEEE 61(3), 1973.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.evidence import Evidence
from transcribe.notes.ridges import Peaks, follow_ridges
from transcribe.settings import NoteSettings

# Intervals at which one sound's partials line up with another's: octave, twelfth, two octaves and on.
GHOST_INTERVALS = (12.0, 19.0, 24.0, 28.0, 31.0)
GHOST_WIDTH = 0.6  # semitones
LEAST_FRAMES = 3  # a peak seen for less is a flicker of the map


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """A stretch in which one ridge is heard, without a gap; frame k of it is frame ``first + k`` of the evidence."""

    first: int
    midi: NDArray[np.float64]  # (n_frames,) pitch as the map shows it
    salience: NDArray[np.float64]  # (n_frames,) 0 to 1

    @property
    def last(self) -> int:
        """Its last frame."""
        return self.first + self.midi.size - 1


def find_strands(evidence: Evidence, settings: NoteSettings) -> tuple[Strand, ...]:
    """Return the strands of the voices heard, at most ``settings.max_voices`` at a time, by time then pitch."""
    peaks = follow_ridges(evidence, settings)
    onset = near_maximum(evidence.onset.max(axis=1), round(settings.onset_reach_s / evidence.hop_s))
    free = np.ones(peaks.frame.size, dtype=bool)
    heard = np.zeros(peaks.frame.size, dtype=bool)
    for _ in range(settings.max_voices):
        chosen = best_line(peaks, free, onset, settings)
        if chosen.size == 0:
            break
        heard[chosen] = True
        free &= ~heard
    gap = max(1, round(settings.strand_gap_s / evidence.hop_s))
    strands = [strand for name in np.unique(peaks.ridge[heard]) for strand in _runs(peaks, heard, int(name), gap)]
    return tuple(sorted(strands, key=lambda strand: (strand.first, strand.midi[0])))


def near_maximum(values: NDArray[np.float32], reach: int) -> NDArray[np.float64]:
    """Return the largest value within ``reach`` frames on either side, shape as given."""
    padded = np.pad(values.astype(np.float64), reach, mode="edge")
    return np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).max(axis=1)


def best_line(
    peaks: Peaks, free: NDArray[np.bool_], onset: NDArray[np.float64], settings: NoteSettings
) -> NDArray[np.int64]:
    """Return the numbers of the peaks on the best line through the free ones, at most one a frame; may be empty.

    Each frame is either silent (worth 0) or on a peak (worth its salience less ``settings.voice_threshold``); a change
    of ridge costs as the module says. The line with the greatest worth is traced back.
    """
    number = np.flatnonzero(free)
    starts = np.searchsorted(peaks.frame[number], np.arange(onset.size + 1))
    without = 1.0 - np.minimum(1.0, onset / settings.onset_sure)  # how surely no note begins in each frame
    entry = (settings.entry_cost * without).tolist()
    gain = (peaks.salience[number] - settings.voice_threshold).tolist()
    cost = _change_costs(peaks, number, starts, without, settings)
    worth = [0.0]  # best worth ending in silence, then in each peak of the frame before
    back: list[list[int]] = []
    at = starts.tolist()
    used = 0  # of the costs; plain numbers, because a frame has hardly more than three peaks
    for now, (first, last) in enumerate(pairwise(at)):
        silent = max(worth)
        reached, best = [silent], [worth.index(silent)]
        count = last - first
        for k in range(count):
            through = [worth[0] - entry[now]]
            through += [before - cost[used + i * count + k] for i, before in enumerate(worth[1:])]
            most = max(through)
            reached.append(most + gain[first + k])
            best.append(through.index(most))
        used += (len(worth) - 1) * count
        worth = reached
        back.append(best)
    state = worth.index(max(worth))
    line = []
    for now in range(len(back) - 1, -1, -1):
        if state > 0:
            line.append(int(number[at[now] + state - 1]))
        state = back[now][state]
    return np.array(line[::-1], dtype=np.int64)


def _change_costs(
    peaks: Peaks,
    number: NDArray[np.int64],
    starts: NDArray[np.int64],
    without: NDArray[np.float64],
    settings: NoteSettings,
) -> list[float]:
    """Cost of going from each peak of a frame to each of the next; frame by frame, then by the peak it goes from."""
    counts = np.diff(starts)
    pairs = counts[:-1] * counts[1:]
    now = np.repeat(np.arange(1, counts.size), pairs)
    place = np.arange(now.size) - np.repeat(np.cumsum(pairs) - pairs, pairs)
    before = number[starts[now - 1] + place // counts[now]]
    here = number[starts[now] + place % counts[now]]
    leap = np.abs(peaks.midi[before] - peaks.midi[here])
    ghost = np.min(np.abs(leap[:, None] - np.array(GHOST_INTERVALS)), axis=1) < GHOST_WIDTH
    price = settings.leap_cost * np.minimum(1.0, leap) + np.where(ghost, settings.octave_cost, 0.0)
    same = peaks.ridge[before] == peaks.ridge[here]
    cost = np.where(same, 0.0, price * without[now] + settings.least_change_cost)
    return [float(each) for each in cost.tolist()]


def _runs(peaks: Peaks, heard: NDArray[np.bool_], ridge: int, gap: int) -> list[Strand]:
    """The stretches of one ridge that are heard, short gaps filled in a straight line."""
    mine = np.flatnonzero(heard & (peaks.ridge == ridge))
    frames = peaks.frame[mine]
    pieces = np.split(np.arange(mine.size), np.flatnonzero(np.diff(frames) > gap) + 1)
    strands = []
    for piece in pieces:
        if piece.size < LEAST_FRAMES:
            continue
        all_frames = np.arange(frames[piece[0]], frames[piece[-1]] + 1)
        midi = np.interp(all_frames, frames[piece], peaks.midi[mine[piece]])
        salience = np.interp(all_frames, frames[piece], peaks.salience[mine[piece]])
        strands.append(Strand(first=int(all_frames[0]), midi=midi, salience=salience))
    return strands
