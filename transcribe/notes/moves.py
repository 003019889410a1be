"""A pitch line to holds and moves: where it rests, where it travels, and where it waves around its middle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.settings import NoteSettings


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """Sounding pitch of one string from one strike to the next, evenly sampled."""

    start_s: float
    hop_s: float
    midi: NDArray[np.float64]  # (n,) no gaps
    salience: NDArray[np.float64]  # (n,)

    @property
    def times_s(self) -> NDArray[np.float64]:
        """Time of each sample, shape (n,)."""
        return np.asarray(self.start_s + self.hop_s * np.arange(self.midi.size), dtype=np.float64)

    @property
    def end_s(self) -> float:
        """Time of the last sample."""
        return self.start_s + self.hop_s * (self.midi.size - 1)


@dataclass(frozen=True, slots=True, eq=False)
class Company:
    """Where other strings sound beside a line, sample by sample."""

    mixed: NDArray[np.bool_]  # (n,) another sounds, or so near that a window holds both
    taken: NDArray[np.bool_]  # (n,) another sounds at the line's own pitch


@dataclass(frozen=True, slots=True)
class Wave:
    """A stretch of vibrato: samples ``first`` to ``last`` of the line."""

    first: int
    last: int
    rate_hz: float
    extent_cents: float


@dataclass(frozen=True, slots=True)
class Move:
    """A journey of the pitch from one hold to another: it leaves after sample ``first`` and arrives at ``last``."""

    first: int
    last: int
    from_midi: float
    to_midi: float
    held_before: int  # samples of rest before it; 0 when the line begins on the move
    held_after: int

    @property
    def semitones(self) -> float:
        """Signed size."""
        return self.to_midi - self.from_midi


def find_waves(line: Line, settings: NoteSettings) -> tuple[Wave, ...]:
    """Return the stretches of vibrato: at least two full cycles of even size and pace around a steady middle."""
    turns = _turning_points(line.midi, settings.vibrato_least_cents / 100.0)
    if turns and abs(line.midi[-1] - line.midi[turns[-1]]) * 100.0 >= settings.vibrato_least_cents:
        turns.append(line.midi.size - 1)  # the note may end in the middle of a wave
    waves: list[Wave] = []
    begin = 0
    while begin < len(turns) - 1:
        end = begin
        while end + 1 < len(turns) and _same_wave(line, turns[begin : end + 2], settings):
            end += 1
        if end - begin >= settings.vibrato_least_half_cycles:
            steps = np.diff(turns[begin : end + 1]) * line.hop_s
            swing = np.abs(np.diff(line.midi[turns[begin : end + 1]]))
            rate_hz, extent_cents = float(0.5 / np.mean(steps)), float(50.0 * np.median(swing))
            first, last = _wave_edges(line, turns[begin], turns[end], rate_hz)
            waves.append(Wave(first, last, rate_hz, extent_cents))
            begin = end
        else:
            begin += 1
    return tuple(waves)


def _turning_points(line: NDArray[np.float64], least: float) -> list[int]:
    """Samples where the line turns, each at least ``least`` semitones from the one before."""
    midi = line.tolist()  # numbers of Python: numpy's cost a loop ten times as much
    turns: list[int] = []
    high = low = 0
    heading = 0
    for k in range(1, len(midi)):
        if midi[k] > midi[high]:
            high = k
        if midi[k] < midi[low]:
            low = k
        if heading >= 0 and midi[high] - midi[k] >= least:
            turns.append(high)
            heading, low, high = -1, k, k
        elif heading <= 0 and midi[k] - midi[low] >= least:
            turns.append(low)
            heading, low, high = 1, k, k
        if heading < 0 and midi[k] <= midi[low]:
            high = k
        if heading > 0 and midi[k] >= midi[high]:
            low = k
    return turns


def _same_wave(line: Line, turns: list[int], settings: NoteSettings) -> bool:
    """True when these turning points can be one vibrato: pace, size and middle all stay alike."""
    half_s = np.diff(turns) * line.hop_s
    if half_s.min() < 0.5 / settings.vibrato_fastest_hz or half_s.max() > 0.5 / settings.vibrato_slowest_hz:
        return False
    swing = np.abs(np.diff(line.midi[turns]))
    if (
        swing.max() > 2 * settings.vibrato_widest_cents / 100.0
        or swing[1:].min(initial=swing.max()) < 0.3 * swing.max()
    ):
        return False
    middle = 0.5 * (line.midi[turns[1:]] + line.midi[turns[:-1]])
    return bool(np.ptp(middle) <= max(0.25, 0.7 * float(np.median(swing))) and half_s.max() <= 2.2 * half_s.min())


def _wave_edges(line: Line, first: int, last: int, rate_hz: float) -> tuple[int, int]:
    """A vibrato begins and ends up to half a cycle outside its first and last turning points, within its own range."""
    inside = line.midi[first : last + 1]
    slack = 0.3 * float(np.ptp(inside))
    low, high = inside.min() - slack, inside.max() + slack
    half = round(0.5 / rate_hz / line.hop_s)
    for _ in range(half):
        if first > 0 and low <= line.midi[first - 1] <= high:
            first -= 1
        if last + 1 < line.midi.size and low <= line.midi[last + 1] <= high:
            last += 1
    return first, last


def without_waves(line: Line, waves: tuple[Wave, ...]) -> NDArray[np.float64]:
    """Return the line with each vibrato replaced by its moving middle, shape (n,)."""
    calm = line.midi.copy()
    for wave in waves:
        period = max(2, round(1.0 / wave.rate_hz / line.hop_s))
        stretch = line.midi[wave.first : wave.last + 1]
        half = period // 2
        padded = np.concatenate((2 * np.mean(stretch[: half + 1]) - stretch[half:0:-1], stretch, np.zeros(0)))
        padded = np.pad(padded, (0, half), mode="reflect")
        sums = np.cumsum(np.pad(padded, (1, 0)))
        mean = (sums[2 * half :] - sums[: sums.size - 2 * half]) / (2 * half)
        calm[wave.first : wave.last + 1] = mean[: stretch.size]
    return calm


def beside_waves(moves: tuple[Move, ...], waves: tuple[Wave, ...], hop_s: float) -> tuple[Move, ...]:
    """Return the moves that are not merely the lean of a vibrato: a finger that only pushes up lifts the middle."""

    def leans(move: Move) -> bool:
        return any(
            abs(move.semitones) * 100.0 <= 1.4 * wave.extent_cents + 12.0
            and move.first <= wave.last + 0.5 / wave.rate_hz / hop_s
            and move.last >= wave.first - 0.5 / wave.rate_hz / hop_s
            for wave in waves
        )

    return tuple(move for move in moves if not leans(move))


def find_moves(midi: NDArray[np.float64], *, hop_s: float, settings: NoteSettings) -> tuple[Move, ...]:
    """Return the moves of a line without vibrato, in time order.

    The slope is fitted over 50 ms; where it is steep enough the pitch travels, elsewhere it is held. Travels in one
    direction with only a short stop between them are one move; those that get nowhere are none.
    """
    if midi.size < 3:
        return ()
    steep = _slope(midi, hop_s=hop_s, reach=max(1, round(0.02 / hop_s)))
    direction = np.where(np.abs(steep) > settings.move_least_semitones_per_s, np.sign(steep), 0.0)
    edges = np.flatnonzero(np.diff(direction)) + 1
    runs = [
        (int(piece[0]), int(piece[-1]), int(direction[piece[0]])) for piece in np.split(np.arange(midi.size), edges)
    ]
    settled = round(settings.settle_s / hop_s)  # a pitch that only settles after the strike has not moved
    travels = [run for run in runs if run[2] != 0 and not (run[1] <= settled and abs(midi[run[1]] - midi[0]) < 0.6)]
    stop = round(settings.move_stop_s / hop_s)
    joined: list[tuple[int, int, int]] = []
    for first, last, sign in travels:
        if joined and joined[-1][2] == sign and first - joined[-1][1] - 1 < stop:
            joined[-1] = (joined[-1][0], last, sign)
        else:
            joined.append((first, last, sign))
    joined = [run for run in joined if abs(midi[run[1]] - midi[run[0]]) * 100.0 >= settings.move_least_cents]
    return _with_holds(midi, joined)


def _slope(midi: NDArray[np.float64], *, hop_s: float, reach: int) -> NDArray[np.float64]:
    """Least-squares slope over ``reach`` samples on either side, semitones a second."""
    steps = np.arange(-reach, reach + 1)
    padded = np.pad(midi, reach, mode="edge")
    return np.asarray(np.convolve(padded, -steps, mode="valid") / (np.sum(steps**2) * hop_s))


def _with_holds(midi: NDArray[np.float64], runs: list[tuple[int, int, int]]) -> tuple[Move, ...]:
    moves = []
    for k, (first, last, _) in enumerate(runs):
        before = midi[(runs[k - 1][1] + 1 if k else 0) : first]
        after = midi[last + 1 : (runs[k + 1][0] if k + 1 < len(runs) else midi.size)]
        moves.append(
            Move(
                first=first,
                last=last,
                from_midi=float(np.median(before)) if before.size >= 3 else float(midi[first]),
                to_midi=float(np.median(after)) if after.size >= 3 else float(midi[last]),
                held_before=int(before.size),
                held_after=int(after.size),
            )
        )
    return tuple(moves)
