"""Moves of a pitch, one after another, to notes: a finger that changes fret closes one and opens the next.

Where a push got to is measured where the pitch stood, and told as its turning point where it did not stand.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.intonation import held_pitch_cents, nearest_size_cents
from transcribe.notes.moves import Line, Move, Wave
from transcribe.notes.note import Attack, Bend, SlideKind, Vibrato
from transcribe.notes.part import OpenPart, Part
from transcribe.notes.shape import Shape
from transcribe.settings import NoteSettings

Floats = NDArray[np.float64]
LEAST_HELD = 4  # samples in which a pitch stands, for that to be where a push got to
STILL_SEMITONES = 0.03  # from sample to sample: it stands


class MoveReader:
    """Walks through the moves of one stretch and closes a note wherever a finger changes fret."""

    def __init__(
        self, line: Line, calm: Floats, waves: tuple[Wave, ...], end_s: float, settings: NoteSettings, first: OpenPart
    ) -> None:
        self.line, self.calm, self.waves, self.end_s, self.settings = line, calm, waves, end_s, settings
        self.times = line.times_s
        self.now = first
        self.parts: list[Part] = []

    def take(self, move: Move, shape: Shape, *, is_last: bool, shift_cents: float) -> None:
        """Read one more move."""
        hold = self.settings.hold_s / self.line.hop_s
        fresh = not self.now.pushes and self.now.slide is None
        at_start = fresh and not self.parts and move.held_before < hold and move.first - self.now.first < hold
        at_end = is_last and move.held_after < hold
        up, large = move.semitones > 0, abs(move.semitones) >= 0.6
        bends = shape.manner == "glide" and abs(move.semitones) <= self.settings.widest_bend_semitones
        bends = bends and not (large and shape.pace(move.semitones) > self.settings.slide_speed_semitones_per_s)
        if at_end and self._time(move.last) - self._time(move.first) <= self.settings.breath_s:
            return  # the note breaks off, or the next one is in the window already: no hand moves so fast
        if fresh and bends and not self.parts and self._on_its_way(move):
            self.now.first = move.last
            return
        if self.now.pushed > 0 and not up:
            self._come_down(move, shape)
        elif at_end and self._leaves(move, shape, shift_cents):
            return
        elif at_start and (shape.manner == "jump" or (large and not bends)):
            self._come_in(move, shape)
        elif bends and up and 100.0 * move.semitones >= self.settings.bend_least_cents:
            self._push(move)
        elif bends and not up and fresh and self._was_pushed_before(move):
            self._pre_bend(move)
        elif large:
            self._change_fret(move, shape)
        else:
            return  # unsteadiness
        self.now.sure = min(self.now.sure, shape.sure)

    def _on_its_way(self, move: Move) -> bool:
        """True for a pitch at rest so soon after the pick that it only came from the note before."""
        picked = self.now.attack in ("picked", "unknown")
        leaves_s, rests_s = (self._time(k) - self.now.onset_s for k in (move.first, move.last))
        at_once = leaves_s <= self.settings.attack_leaves_s and rests_s <= self.settings.attack_settles_s
        return picked and (at_once or rests_s <= self.settings.attack_moves_s)

    def _push(self, move: Move) -> None:
        if self.now.rest_midi is None:
            self.now.rest_midi = move.from_midi
        self.now.pushes.append(("bend", self._time(move.first), self._time(move.last), move.to_midi))
        self.now.pushed = move.to_midi - self.now.rest_midi

    def _come_down(self, move: Move, shape: Shape) -> None:
        """A pushed string is let down; when the pitch falls on below its fret, another finger takes over there."""
        rest = self.now.rest_midi if self.now.rest_midi is not None else move.to_midi
        if move.to_midi > rest - 0.6:
            self._let_down(move)
            return
        stood = self._stood(move, rest)
        if stood is not None:
            first, last = stood
            self._let_down(replace(move, last=first, to_midi=float(np.median(self.calm[first : last + 1]))))
            self._change_fret(replace(move, first=last, from_midi=rest), shape)
            return
        below = np.flatnonzero(self.calm[move.first : move.last + 1] <= rest)
        middle = move.first + (int(below[0]) if below.size else (move.last - move.first) // 2)
        self._let_down(replace(move, last=middle, to_midi=rest))
        self._change_fret(replace(move, first=middle, from_midi=rest), shape)

    def _stood(self, move: Move, rest: float) -> tuple[int, int] | None:
        """First and last sample of the longest stop near the fret on the way down; None where it passed on at once."""
        path = self.calm[move.first : move.last + 1]
        still = (np.abs(np.diff(path)) <= STILL_SEMITONES) & (np.abs(path[1:] - rest) < 0.6)
        edges = np.flatnonzero(np.diff(np.concatenate([[False], still, [False]])))
        stops = [(int(begin), int(end)) for begin, end in zip(edges[::2], edges[1::2], strict=True)]
        if not stops:
            return None
        begin, end = max(stops, key=lambda stop: stop[1] - stop[0])
        return (move.first + begin, move.first + end) if end - begin + 1 >= LEAST_HELD else None

    def _let_down(self, move: Move) -> None:
        if abs(move.semitones) * 100.0 < self.settings.bend_least_cents:
            return
        self.now.pushes.append(("release", self._time(move.first), self._time(move.last), move.to_midi))
        self.now.pushed = move.to_midi - (self.now.rest_midi or move.to_midi)
        if self.now.pushed < 0.3:
            self.now.pushed = 0.0

    def _was_pushed_before(self, move: Move) -> bool:
        """True when a fall can be the release of a bend made before the pick: soon after it, and not too wide."""
        held_s = self._time(move.first) - self.now.onset_s
        wide = -100.0 * move.semitones >= self.settings.prebend_least_cents
        first = self.now.attack in ("picked", "unknown") and not self.parts
        return wide and first and held_s <= self.settings.prebend_longest_s

    def _pre_bend(self, move: Move) -> None:
        self.now.rest_midi = move.to_midi
        self.now.pushes.append(("pre-bend", self.now.onset_s, self.now.onset_s, move.from_midi))
        self.now.pushes.append(("release", self._time(move.first), self._time(move.last), move.to_midi))

    def _come_in(self, move: Move, shape: Shape) -> None:
        if shape.manner != "jump":  # a jump right after the strike is the note before, dying away
            self.now.slide = ("in", 100.0 * move.semitones)
        self.now.first = move.last

    def _leaves(self, move: Move, shape: Shape, shift_cents: float) -> bool:
        """A slide off to nowhere, or up to the fret that is picked next; True when it was one."""
        if self.now.pushed > 0:
            return False
        if shift_cents * move.semitones > 0:
            return True  # told when the note closes
        if move.semitones <= -1.2 or (shape.manner == "stairs" and abs(move.semitones) >= 1.5):
            self._set_slide("out", 100.0 * move.semitones)
            return True
        return abs(move.semitones) < 0.6 or move.semitones < 0  # the last breath of a note sags: no gesture

    def _set_slide(self, kind: SlideKind, cents: float) -> None:
        self.now.slide = (kind, cents)

    def _change_fret(self, move: Move, shape: Shape) -> None:
        """Close the note and open the next at the new fret."""
        attack: Attack = "hammer-on" if move.semitones > 0 else "pull-off"
        at_s = shape.middle_s
        slow = shape.manner == "glide" and shape.pace(move.semitones) <= self.settings.slide_speed_semitones_per_s
        if slow and abs(move.semitones) <= self.settings.blurred_semitones:
            self.now.sure = min(self.now.sure, 0.5)  # a finger coming off in the room's echo: no frets were passed
        elif shape.manner != "jump":
            attack, at_s = "slide", shape.arrival_s
            self._set_slide("legato", 100.0 * move.semitones)
        at_s = max(at_s, self.now.onset_s + self.line.hop_s)
        self.parts.append(self._close(at_s, move.first))
        self.now = OpenPart(at_s, attack, move.last, sure=shape.sure)

    def finish(self, *, shift_cents: float) -> tuple[Part, ...]:
        """Return all notes read; the last slides into the next pick by ``shift_cents``, unless that is 0."""
        if shift_cents and self.now.pushed == 0:
            self._set_slide("shift", shift_cents)
        end_s = max(self.end_s, self.now.onset_s + self.line.hop_s)
        return (*self.parts, self._close(end_s, self.calm.size - 1))

    def _close(self, end_s: float, last: int) -> Part:
        now = self.now
        rest = now.rest_midi if now.rest_midi is not None else self._resting(now.first, last)
        midi = round(rest)
        bends = self._bends(midi, end_s)
        return Part(
            onset_s=now.onset_s,
            end_s=end_s,
            midi=midi,
            rest_cents=100.0 * (rest - midi),
            attack=now.attack,
            bends=bends,
            slide=now.slide,
            vibrato=self._vibrato(now.first, last),
            sure=now.sure,
        )

    def _resting(self, first: int, last: int) -> float:
        """Pitch of the fret when nothing was pushed: the middle of what is plainly heard, before any slide away."""
        held, trust = self.calm[first : last + 1], self.line.salience[first : last + 1]
        if self.now.slide is not None and self.now.slide[0] in ("out", "shift"):
            return float(np.median(held[: max(1, round(0.7 * held.size))]))
        good = held[trust >= 0.5 * trust.max()]
        return float(np.median(good if good.size else held))

    def _bends(self, midi: int, end_s: float) -> tuple[Bend, ...]:
        made: list[Bend] = []
        pushes = self.now.pushes
        for k, (kind, start_s, reach_s, arrived) in enumerate(pushes):
            until = max(pushes[k + 1][1] if k + 1 < len(pushes) else end_s, reach_s, start_s)
            still_until = self._before_waves(reach_s, until)
            held = self.calm[(self.times >= reach_s - 1e-9) & (self.times <= still_until + 1e-9)]
            if held.size < LEAST_HELD:  # no hold: the turning point is where it got to
                near = self.calm[np.abs(self.times - reach_s) <= 0.025]
                if kind != "release" and near.size:
                    arrived = float(near.max())
                reached = 100.0 * (arrived - midi)
            else:
                reached = 100.0 * (held_pitch_cents(held) - midi)
            lowest = kind == "release" and reached <= 60.0
            target = 0.0 if lowest else nearest_size_cents(reached)
            fell_back = kind == "bend" and reached < self.settings.bend_stays_cents
            if not fell_back and (made or kind != "release"):
                made.append(Bend(kind, start_s, max(reach_s, start_s), until, target, reached))
        return tuple(made)

    def _before_waves(self, reach_s: float, until_s: float) -> float:
        """When a hold begins to wave, if it stood still before: a bent string waves below where the finger stood."""
        starts = [self._time(wave.first) for wave in self.waves if self._time(wave.last) > reach_s]
        stood = [start_s for start_s in starts if reach_s + self.settings.stands_s <= start_s < until_s]
        return min(stood) if stood and len(stood) == len(starts) else until_s

    def _vibrato(self, first: int, last: int) -> Vibrato | None:
        told = self.settings.vibrato_told_cents
        mine = [wave for wave in self.waves if wave.first < last and wave.last > first and wave.extent_cents >= told]
        if not mine:
            return None
        longest = max(mine, key=lambda wave: wave.last - wave.first)
        return Vibrato(rate_hz=longest.rate_hz, extent_cents=longest.extent_cents)

    def _time(self, sample: int) -> float:
        return float(self.times[sample])
