"""Did the bend reach its pitch? Aim, arrival, miss, speed and steadiness of each bend of a note."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import NoteError
from transcribe.notes.note import Bend, BendKind, Contour, Note

SIZE_NAMES = {50.0: "quarter-tone curl", 100.0: "half-step bend", 200.0: "whole-step bend"}
CURL_CENTS = 50.0
CURL_TOLERANCE_CENTS = 20.0  # a curl is a range, not a point: 30 to 70 cents all count (common practice)
WAVE_CENTS = 8.0  # a hold that strays farther is a wave
SETTLE_SHARE = 0.25  # the first quarter of a hold may still overshoot: the middle of the rest is what was reached


@dataclass(frozen=True, slots=True)
class BendMeasure:
    """One bend against its target. Cents count from the fretted pitch unless said otherwise."""

    note: str  # id of the bent note
    kind: BendKind
    start_s: float
    start_cents: float  # where the pitch stood when the push (or the let-down) began
    target_cents: float
    reached_cents: float  # middle of the held pitch, vibrato averaged out
    error_cents: float  # against the guitar's own tuning; below zero is flat
    error_from_reference_cents: float  # against the reference pitch (A = 440 Hz unless set)
    time_to_reach_s: float
    held_s: float
    steadiness_cents: float | None  # standard deviation while held; None when too short or not measured
    tolerance_cents: float
    verdict: str

    @property
    def in_tune(self) -> bool:
        """True when the error is within the tolerance."""
        return abs(self.error_cents) <= self.tolerance_cents


def nearest_size_cents(reached_cents: float) -> float:
    """Return the usual bend size nearest to what was reached: a quarter tone, then whole semitones, in cents.

    >>> nearest_size_cents(188.0)
    200.0
    >>> nearest_size_cents(62.0)
    50.0
    """
    whole = max(1, round(reached_cents / 100.0)) * 100.0
    return min((CURL_CENTS, whole), key=lambda size: abs(size - reached_cents))


def hold_cents(contour: Contour, start_s: float, end_s: float) -> NDArray[np.float64]:
    """Return the readings of a contour from start to end, in cents, shape (n_readings,), gaps left out."""
    cents = np.array([np.nan if value is None else value for value in contour.cents], dtype=np.float64)
    times = contour.start_s + contour.hop_s * np.arange(cents.size)
    inside = (times >= start_s - 1e-9) & (times <= end_s + 1e-9) & np.isfinite(cents)
    return cents[inside]


def held_pitch_cents(cents: NDArray[np.float64]) -> float:
    """Return the held pitch of a stretch of readings, in cents: middle of its waves, a late drop left out.

    The first quarter, where a push may still be on its way or overshoot, and the last tenth, where the finger lets go,
    do not count when enough is left. A steady hold is told by its median. A waving one is told by the middle of its
    range, tenth to ninetieth in a hundred, for a median leans when the last wave is not whole.
    """
    if cents.size == 0:
        return float("nan")
    first, last = round(cents.size * SETTLE_SHARE), round(cents.size * 0.9)
    held = cents[first:last] if last - first >= 3 else cents
    low, middle, high = np.percentile(held, [10, 50, 90])
    return float(middle if high - low < WAVE_CENTS else 0.5 * (low + high))


def measure_bends(
    note: Note, *, tuning_offset_cents: float, tolerance_cents: float, target_cents: float | None = None
) -> tuple[BendMeasure, ...]:
    """Return one measure for each bend, pre-bend and release of a note, in time order.

    Parameters
    ----------
    note : Note
        With bends; its contour, when there is one, tells start and steadiness.
    tuning_offset_cents : float
        How far the guitar stands above the reference pitch; already removed from the note's cents.
    tolerance_cents : float
        Largest miss that still counts as in tune, above zero. A quarter-tone curl is given at least 20 cents.
    target_cents : float, optional
        Take this as the target of every bend and pre-bend instead of the one that was heard; releases keep theirs.

    Raises
    ------
    NoteError
        If the tolerance is not above zero or the target is below zero.
    """
    if tolerance_cents <= 0:
        raise NoteError(f"a tolerance must be above 0 cents; got {tolerance_cents}")
    if target_cents is not None and target_cents < 0:
        raise NoteError(f"a bend's target is at or above the fretted pitch; got {target_cents} cents")
    return tuple(
        _measure(note, bend, tuning_offset_cents, tolerance_cents, None if bend.kind == "release" else target_cents)
        for bend in note.bends
    )


def _measure(
    note: Note, bend: Bend, tuning_offset_cents: float, tolerance_cents: float, given_cents: float | None
) -> BendMeasure:
    target = bend.target_cents if given_cents is None else given_cents
    tolerance = max(tolerance_cents, CURL_TOLERANCE_CENTS) if target == CURL_CENTS else tolerance_cents
    error = bend.reached_cents - target
    steadiness = _steadiness_cents(note.contour, bend)
    return BendMeasure(
        note=note.id,
        kind=bend.kind,
        start_s=bend.start_s,
        start_cents=_start_cents(note, bend),
        target_cents=target,
        reached_cents=bend.reached_cents,
        error_cents=error,
        error_from_reference_cents=error + tuning_offset_cents,
        time_to_reach_s=bend.reach_s - bend.start_s,
        held_s=bend.end_s - bend.reach_s,
        steadiness_cents=steadiness,
        tolerance_cents=tolerance,
        verdict=_verdict(bend.kind, target, error, tolerance),
    )


def _start_cents(note: Note, bend: Bend) -> float:
    """Pitch just before the push: the last readings before it starts, else the rest or the earlier bend."""
    if bend.kind == "pre-bend":
        return bend.reached_cents
    if note.contour is not None:
        before = hold_cents(note.contour, max(note.onset_s, bend.start_s - 0.05), bend.start_s)
        if before.size:
            return float(np.median(before))
    earlier = [other for other in note.bends if other.reach_s <= bend.start_s and other is not bend]
    return earlier[-1].reached_cents if earlier else (note.cents or 0.0)


def _steadiness_cents(contour: Contour | None, bend: Bend) -> float | None:
    if contour is None:
        return None
    held = hold_cents(contour, bend.reach_s, bend.end_s)
    held = held[: max(1, round(held.size * 0.9))]
    return float(np.std(held)) if held.size >= 5 else None


def semitones_in_words(cents: float) -> str:
    """Return an interval as ``1 semitone`` or ``2.5 semitones``."""
    return f"{cents / 100:g} semitone{'' if cents == 100 else 's'}"


def size_name(target_cents: float) -> str:
    """Return what a player calls a bend of this size.

    >>> size_name(200.0), size_name(250.0)
    ('whole-step bend', 'bend of 2.5 semitones')
    """
    return SIZE_NAMES.get(target_cents, f"bend of {semitones_in_words(target_cents)}")


def _verdict(kind: BendKind, target_cents: float, error_cents: float, tolerance_cents: float) -> str:
    if kind == "release":
        name = "release" if target_cents < 1 else f"release to {semitones_in_words(target_cents)}"
    else:
        name = size_name(target_cents).replace("bend", "pre-bend") if kind == "pre-bend" else size_name(target_cents)
    miss = abs(error_cents)
    side = "flat" if error_cents < 0 else "sharp"
    by = f"{miss:.0f} cent{'' if round(miss) == 1 else 's'} {side}"
    allowed = f"tolerance {tolerance_cents:g} cent{'' if tolerance_cents == 1 else 's'}"
    if miss <= tolerance_cents:
        return f"{name}: in tune, {by} ({allowed})" if miss >= 1 else f"{name}: in tune ({allowed})"
    word = {
        ("release", "flat"): "let down below where it started",
        ("release", "sharp"): "not let all the way down",
    }.get((kind, side), "did not get there" if side == "flat" else "went past it")
    return f"{name}: {word}, {by} ({allowed})"
