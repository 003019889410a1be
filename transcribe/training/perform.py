"""A written lick to a performance: human timing, and each gesture at its moment in seconds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from transcribe.errors import NoteError
from transcribe.rhythm.rhythm import Timing
from transcribe.training.lick import Lick, Step

JITTER_S = 0.006  # standard deviation of a careful player's onsets; common practice for made performances
JITTER_LIMIT_S = 0.015
CONTACT_S = 0.011  # the pick rests on the string this long before it lets go; common practice
SWING = 2 / 3  # where the second of two swung eighths falls in its beat: triplet swing
SHORTEST_PUSH_S = 0.02
ONE_DB, OFF_BEAT_DB = 2.0, -1.5  # a player leans on the first beat; common practice
LOCAL_TUNING_CENTS = 1.5  # standard deviation of one fretted place from the guitar's own tuning


@dataclass(frozen=True, slots=True)
class Movement:
    """One push of a performance, in seconds from the start of the file."""

    kind: str
    start_s: float
    reach_s: float
    target_cents: float
    reached_cents: float


@dataclass(frozen=True, slots=True)
class Played:
    """One note of a performance."""

    id: str
    step: Step
    timing: Timing
    midi: int
    onset_s: float
    offset_s: float  # the string is damped, or becomes the next note
    level_db: float
    cents: float  # how far this place stands from the guitar's own tuning
    movements: tuple[Movement, ...] = ()


@dataclass(frozen=True, slots=True)
class Chain:
    """Notes on one string that run into one another without a break; the first is picked."""

    notes: tuple[Played, ...]
    cut_by_pick: bool  # the next pick on this string ends it


@dataclass(frozen=True, slots=True)
class Performance:
    """A lick as it was played once."""

    lick: Lick
    notes: tuple[Played, ...]
    chains: tuple[Chain, ...]
    first_downbeat_s: float
    end_s: float


def perform(lick: Lick, *, jitter_s: float = JITTER_S) -> Performance:
    """Return the lick as played once, the same for the same ``lick.seed``; onsets stray by ``jitter_s`` (one sd)."""
    rng = np.random.default_rng(lick.seed)
    written = _written(lick)
    onsets = [_second(lick, start) + _jitter(rng, jitter_s) for _, start in written]
    notes: list[Played] = []
    for index, (step, start) in enumerate(written):
        if step.string is None:
            continue
        following = written[index + 1][0] if index + 1 < len(written) else None
        end_s = _end_s(lick, step, start, following, onsets, index, rng)
        played = Played(
            id=f"n{len(notes) + 1}",
            step=step,
            timing=_timing(lick, start, step.value),
            midi=lick.midi(step),
            onset_s=round(onsets[index], 4),
            offset_s=round(end_s, 4),
            level_db=round(step.level_db + _accent_db(lick, start) + float(rng.normal(0, 1.0)), 2),
            cents=round(_local_cents(step, rng), 2),
        )
        notes.append(replace(played, movements=_movements(played)))
    chains = _chains(notes)
    return Performance(lick, tuple(notes), chains, _second(lick, lick.pickup_beats), notes[-1].offset_s + 0.35)


def _written(lick: Lick) -> list[tuple[Step, Fraction]]:
    """Return each step with its start in quarters from the beginning of the pickup."""
    at, found = Fraction(0), []
    for step in lick.steps:
        found.append((step, at))
        at += step.value
    return found


def _second(lick: Lick, at: Fraction) -> float:
    """Return when a written moment is played, swing with it."""
    shift = at - lick.pickup_beats  # beats are counted from the first downbeat, so that a pickup swings too
    whole, part = divmod(shift, 1)
    inside = float(part)
    if lick.feel == "swing":
        inside = inside * 2 * SWING if inside < 0.5 else SWING + (inside - 0.5) * 2 * (1 - SWING)
    return lick.lead_in_s + (float(lick.pickup_beats + whole) + inside) * 60.0 / lick.tempo_bpm


def _jitter(rng: np.random.Generator, jitter_s: float) -> float:
    limit = JITTER_LIMIT_S / JITTER_S
    return jitter_s * float(np.clip(rng.normal(0, 1.0), -limit, limit))


def _accent_db(lick: Lick, start: Fraction) -> float:
    """Return how much louder a note is for where it stands in the bar: "one" leads, notes off the beat step back."""
    inside = (start - lick.pickup_beats) % lick.meter.bar_beats
    pulse = Fraction(3, 2) if lick.meter.unit == 8 else Fraction(1)
    return ONE_DB if inside == 0 else 0.0 if inside % pulse == 0 else OFF_BEAT_DB


def _local_cents(step: Step, rng: np.random.Generator) -> float:
    """Return how far a place stands from the guitar's tuning; a bend is told from the tuning itself, so none there."""
    drawn = float(rng.normal(0, LOCAL_TUNING_CENTS))
    return 0.0 if step.fret == 0 or step.pushes else drawn


def _timing(lick: Lick, start: Fraction, value: Fraction) -> Timing:
    if start < lick.pickup_beats:
        return Timing(0, start, value)
    bar, beat = divmod(start - lick.pickup_beats, lick.meter.bar_beats)
    return Timing(int(bar) + 1, beat, value)


def _end_s(
    lick: Lick,
    step: Step,
    start: Fraction,
    following: Step | None,
    onsets: list[float],
    index: int,
    rng: np.random.Generator,
) -> float:
    """Return when a note stops: at its joined follower, just before a re-pick, or near the end of its value."""
    planned = onsets[index] + (_second(lick, start + step.value) - _second(lick, start)) * step.held
    if following is None or following.string is None:
        return planned + float(rng.uniform(-0.01, 0.01))
    next_s = onsets[index + 1]
    if following.attack in ("hammer-on", "pull-off", "slide") or step.slide in ("legato", "shift"):
        return next_s
    if following.string == step.string:
        return min(planned, next_s - CONTACT_S)
    return min(planned, next_s) + float(rng.uniform(-0.015, 0.02))


def _movements(note: Played) -> tuple[Movement, ...]:
    length_s = note.offset_s - note.onset_s
    found: list[Movement] = []
    for push in note.step.pushes:
        start_s = note.onset_s + push.at * length_s
        if found:
            start_s = max(start_s, found[-1].reach_s)
        if start_s >= note.offset_s - SHORTEST_PUSH_S:
            raise NoteError(f"a {push.kind} begins too late to fit into its note; got {note.step}")
        reach_s = min(start_s + push.over_s, note.offset_s)
        found.append(
            Movement(push.kind, round(start_s, 4), round(reach_s, 4), push.cents, push.cents + push.miss_cents)
        )
    return tuple(found)


def _chains(notes: list[Played]) -> tuple[Chain, ...]:
    groups: list[list[Played]] = []
    for before, note in zip((None, *notes[:-1]), notes, strict=True):
        legato = note.step.attack in ("hammer-on", "pull-off", "slide")
        shifted = before is not None and before.step.slide == "shift"
        if groups and (legato or shifted):
            groups[-1].append(note)
        else:
            groups.append([note])
    followers = [group[0] for group in groups[1:]]
    cut = [
        after.step.string == group[-1].step.string and after.onset_s - group[-1].offset_s < 2 * CONTACT_S
        for group, after in zip(groups, followers, strict=False)
    ]
    return tuple(Chain(tuple(group), end) for group, end in zip(groups, [*cut, False], strict=True))
