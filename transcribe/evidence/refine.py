"""Pitch to a cent or two, from the partials, along a pitch that is roughly known.

The pitch told is f of f_n = n f sqrt(1 + B n^2): what the string would sound without its stiffness. The first partial
lies above it by 0.9 cents at the stiffest (B = 0.001) and by 0.1 cents on most strings.

Where other strings sound too, the partials that lie clear of all of theirs tell it: ``free_partials``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.once import resampled
from transcribe.audio.recording import Recording
from transcribe.evidence.partials import Partials, fit_pitch, fit_stretch, hermite, read_partials, weights
from transcribe.settings import EvidenceSettings
from transcribe.units import hz_from_midi

Floats = NDArray[np.float64]
OVERHANG = 0.8  # of a window's least length: half of one that is a period longer, and a tenth for a pitch that falls
FIRST_PARTIALS = 5  # a pitch known to a third of a semitone leads to this many partials for certain


@dataclass(frozen=True, slots=True, eq=False)
class FinePitch:
    """What the partials say at each frame."""

    midi: Floats  # (n_frames,) fractional; NaN where no pitch can be read
    spread_cents: Floats  # (n_frames,) how far the partials disagree
    harmonicity: Floats  # (n_frames,) share of the sound's power in the partials, 0 to 1; NaN where none was sought
    stretch: Floats  # (n_frames,) B of f_n = n f sqrt(1 + B n^2)


def refine_pitch(
    recording: Recording,
    times_s: Floats,
    coarse_midi: Floats,
    settings: EvidenceSettings,
    *,
    onsets_s: Floats | None = None,
) -> Floats:
    """Return the pitch at each time as a fractional MIDI note number, shape (n_frames,); NaN where none can be read.

    ``coarse_midi`` must be right to about a third of a semitone; NaN where nothing sounds. ``times_s`` rise by one hop
    (gaps are allowed) on the recording's clock. No window reaches across a gap or across one of ``onsets_s``, the
    moments at which a string is picked anew.
    """
    return read_pitch(recording, times_s, coarse_midi, settings, onsets_s=onsets_s).midi


def read_pitch(
    recording: Recording,
    times_s: Floats,
    coarse_midi: Floats,
    settings: EvidenceSettings,
    *,
    onsets_s: Floats | None = None,
    others_midi: Floats | None = None,
) -> FinePitch:
    """Return pitch, harmonicity and stretch at each time; see ``refine_pitch``.

    ``others_midi``, shape (n_frames, n_others), tells what else sounds, NaN where nothing does. The windows are then
    longer, and only partials free of the others' count.
    """
    (told,) = read_pitches(recording, [(times_s, coarse_midi, others_midi)], settings, onsets_s=onsets_s)
    return told


def read_pitches(
    recording: Recording,
    lines: Sequence[tuple[Floats, Floats, Floats | None]],
    settings: EvidenceSettings,
    *,
    onsets_s: Floats | None = None,
) -> tuple[FinePitch, ...]:
    """Return what ``read_pitch`` tells of each line: ``times_s``, ``coarse_midi`` and ``others_midi`` or None.

    The lines may overlap in time and have one hop; others are told for all of them or for none.
    """
    rate = settings.pitch_rate_hz
    sound = resampled(recording, rate)
    told = tuple(FinePitch(*np.full((4, times_s.size), np.nan)) for times_s, _, _ in lines)
    places: list[tuple[FinePitch, slice]] = []
    found: list[_Run] = []
    for fine, (times_s, coarse_midi, others_midi) in zip(told, lines, strict=True):
        shortest_s = settings.pitch_window_s if others_midi is None else settings.mixed_window_s
        for run in runs(times_s, coarse_midi, np.array([]) if onsets_s is None else onsets_s):
            here = times_s[run] - recording.start_s
            margin = OVERHANG * max(settings.pitch_periods / float(hz_from_midi(coarse_midi[run].min())), shortest_s)
            first = max(0, int((here[0] - margin) * rate))
            last = min(sound.size, int((here[-1] + margin) * rate) + 1)
            if last > first:
                beside = None if others_midi is None else others_midi[run]
                places.append((fine, run))
                found.append(_Run(sound[first:last], here - first / rate, coarse_midi[run], beside))
    for (fine, run), read in zip(places, _read_runs(found, settings), strict=True):
        fine.midi[run], fine.spread_cents[run], fine.harmonicity[run], fine.stretch[run] = read
    return told


def runs(times_s: Floats, coarse_midi: Floats, onsets_s: Floats) -> list[slice]:
    """Return the stretches of frames without a gap in pitch or time and without an onset inside."""
    known = np.flatnonzero(np.isfinite(coarse_midi))
    if known.size == 0:
        return []
    hop = float(np.diff(times_s).min()) if times_s.size > 1 else 0.01
    apart = (np.diff(known) > 1) | (np.diff(times_s[known]) > 1.5 * hop)
    apart |= np.diff(np.searchsorted(np.sort(onsets_s), times_s[known], side="right")) > 0
    edges = np.concatenate(([0], np.flatnonzero(apart) + 1, [known.size]))
    return [slice(int(known[a]), int(known[b - 1]) + 1) for a, b in pairwise(edges)]


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """Frames without a gap or an onset inside."""

    sound: NDArray[np.float32]  # and a little of what lies around
    times_s: Floats  # from the first sample of ``sound``
    coarse_midi: Floats
    others_midi: Floats | None

    @property
    def hop_s(self) -> float:
        """Time from frame to frame."""
        return float(self.times_s[1] - self.times_s[0]) if self.times_s.size > 1 else 0.01


def _read_runs(found: Sequence[_Run], settings: EvidenceSettings) -> list[tuple[Floats, Floats, Floats, Floats]]:
    """Return fine MIDI pitch, spread, harmonicity and stretch for each run; all are fitted at once."""
    if not found:
        return []
    mixed = found[0].others_midi is not None
    smooth = max(1, round(settings.stretch_smooth_s / max(found, key=lambda run: run.times_s.size).hop_s))
    sizes = [run.times_s.size for run in found]
    ends = np.cumsum(sizes).tolist()
    parts = [slice(end - size, end) for end, size in zip(ends, sizes, strict=True)]
    number = np.repeat(np.arange(len(found)), sizes)
    guess = np.concatenate([smoothed(middle_of(run.coarse_midi, 5), 5) for run in found])
    for partials, kernel in ((FIRST_PARTIALS, 3), (settings.pitch_partials, 0)):
        looks = [_look(run, guess[part], partials, settings) for run, part in zip(found, parts, strict=True)]
        pitch_hz, free, *told = (np.concatenate(each) for each in zip(*looks, strict=True))
        read = Partials(*told)
        trust = weights(read) * free
        stretch = fit_stretch(
            read, trust, usual=settings.stretch_usual, usual_frames=2.0, smooth_frames=smooth, run=number
        )
        fine_hz, spread = fit_pitch(read, trust, stretch)
        off = 12.0 * np.log2(fine_hz / pitch_hz)
        poor = ~(np.abs(off) < 0.8) | ~(spread < settings.pitch_spread_cents)
        if mixed:
            poor |= (trust > 0).sum(axis=1) < settings.mixed_least_partials
        if kernel:  # the next look starts from what this one found; where it found nothing, from the same guess
            moved = guess + np.where(poor, 0.0, off)
            guess = np.concatenate([smoothed(moved[part], kernel) for part in parts])
    drowned = (read.harmonicity < settings.pitch_harmonic_share) & (not mixed)
    midi = np.where(poor | drowned, np.nan, guess + off)
    harmonicity = np.minimum(read.harmonicity, 1.0)
    return [(midi[part], spread[part], harmonicity[part], stretch[part]) for part in parts]


def _look(run: _Run, guess: Floats, partials: int, settings: EvidenceSettings) -> tuple[NDArray[Any], ...]:
    """The pitch looked along in hertz, which partials are free, and what is read: the fields of ``Partials``."""
    rate, times_s = settings.pitch_rate_hz, run.times_s
    shortest_s = settings.pitch_window_s if run.others_midi is None else settings.mixed_window_s
    half = 0.5 * np.maximum(settings.pitch_periods / hz_from_midi(guess), shortest_s)
    centres_s = kept_inside(times_s, half, times_s[0] - 0.5 * run.hop_s, times_s[-1] + 0.5 * run.hop_s)
    centres = np.minimum(np.maximum(np.rint(centres_s * rate), 0), run.sound.size - 1).astype(np.intp)
    pitch = hz_from_midi(hermite(np.arange(run.sound.size) / rate, times_s, guess))
    read = read_partials(
        run.sound,
        rate,
        pitch,
        centres,
        partials=partials,
        periods=settings.pitch_periods,
        shortest_s=shortest_s,
    )
    free = np.ones(read.hz.shape, dtype=bool)
    if run.others_midi is not None:
        free = free_partials(pitch[centres], run.others_midi, partials=partials, reach_hz=1.0 / half)
    return pitch[centres], free, read.hz, read.strength, read.noise, read.harmonicity


def free_partials(pitch_hz: Floats, others_midi: Floats, *, partials: int, reach_hz: Floats) -> NDArray[np.bool_]:
    """Return which of the first partials lie clear of every partial of the others, shape (n_frames, partials).

    ``pitch_hz`` has shape (n_frames,), ``others_midi`` (n_frames, n_others), NaN where nothing sounds. Under a Hann
    window of length W a tone is told from its neighbour 2 / W away: ``reach_hz``, shape (n_frames,). Partials are
    taken for whole multiples: with B = 4e-5, the usual stiffness, f_12 = 12 f sqrt(1 + 144 B) lies 5 cents higher.

    >>> free_partials(np.array([100.0]), np.array([[55.35]]), partials=4, reach_hz=np.array([10.0])).tolist()
    [[True, False, True, False]]
    """
    own = pitch_hz[:, None] * np.arange(1, partials + 1)
    free = np.ones(own.shape, dtype=bool)
    for other in others_midi.T:
        hz = hz_from_midi(other)[:, None]
        nearest = np.maximum(1.0, np.round(own / hz))
        free &= ~(np.abs(own - nearest * hz) < reach_hz[:, None])
    return free


def kept_inside(times_s: Floats, half_s: Floats, begin_s: float, end_s: float) -> Floats:
    """Return where to centre windows of half-width ``half_s`` so that they hardly reach past either end.

    A window's outer quarter weighs so little that it may hang over.
    """
    inner = 0.75 * half_s
    middle = 0.5 * (begin_s + end_s)
    earliest, latest = np.minimum(begin_s + inner, middle), np.maximum(end_s - inner, middle)
    return np.asarray(np.minimum(np.maximum(times_s, earliest), latest))


def middle_of(values: Floats, count: int) -> Floats:
    """Return the running median over ``count`` values (an odd number), ends held."""
    return np.asarray(np.sort(_around_each(values, count), axis=1)[:, count // 2])


def smoothed(values: Floats, count: int) -> Floats:
    """Return the running mean over ``count`` values under a Hann window, ends held."""
    kernel = np.hanning(count + 2)[1:-1]
    return np.asarray(_around_each(values, count) @ (kernel / kernel.sum()))


def _around_each(values: Floats, count: int) -> Floats:
    """The ``count`` values (an odd number) around each, ends held, shape (n_values, count)."""
    at = np.arange(values.size)[:, None] + np.arange(count) - count // 2
    return np.asarray(values[np.minimum(np.maximum(at, 0), values.size - 1)])
