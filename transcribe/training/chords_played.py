"""Chords as guitarists play them: strummed, picked string after string, pinched with a bass, touched as harmonics."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from transcribe.training.joined_played import joined_together, ornament
from transcribe.training.lines_played import NODES
from transcribe.training.touches import HIGHEST_FRET, Mute, Touch

Grip = dict[int, int]  # string (0 is string 1) to fret

# Frets from string 6 to string 1; a dot is a string left out. Common open chords and movable shapes.
OPEN_SHAPES = (
    ".32010", ".02220", ".02210", "320003", "022100", "022000", "..0232", "..0231", ".32030", "320033", ".20202",
    "..0212", ".02020", "020100", "200232",
)  # fmt: skip
MOVABLE_SHAPES = (
    "022100", "022000", "020100", "020000", ".02220", ".02210", ".02020", ".02120", "..0231", "..0232", "022...",
    ".022..", "..022.", "...010", "...000", "..221.", "...220", ".0212.",
)  # fmt: skip
PATTERN_LENGTH = (4, 6, 8)
STROKE_S, ROLL_S = (0.002, 0.03), (0.03, 0.16)  # from string to string in a stroke, and in a chord that is rolled


def chords(rng: np.random.Generator, start_s: float, end_s: float) -> list[Touch]:
    """Return chords strummed, picked one string after another, or pinched with a bass, changing now and then."""
    eighth_s = 30.0 / float(rng.uniform(60, 170))
    how = rng.choice(["strum", "arpeggio", "pinch"], p=[0.4, 0.4, 0.2])
    touches: list[Touch] = []
    grip, now_s, count = drawn_grip(rng), start_s, 0
    change = int(rng.choice([4, 8, 8, 16]))
    pattern = rng.integers(0, 6, int(rng.choice(PATTERN_LENGTH)))
    bells = rng.random() < 0.06
    damped = bool(rng.random() < 0.15)
    palm = bool(rng.random() < 0.12)
    ornate = 0.3 * rng.random() ** 2
    thumb_db = -float(rng.uniform(3, 14)) if how != "strum" and rng.random() < 0.3 else 0.0
    while now_s < end_s:
        if count and count % change == 0:
            grip = drawn_grip(rng)
            touches = _released(touches, now_s, rng)
        strings = sorted(grip, reverse=True)  # low string first
        ring_s = eighth_s * float(rng.uniform(0.4, 1.0)) if damped else 4.0
        if how == "strum":
            if rng.random() < 0.75:
                touches += strum(rng, grip, now_s, ring_s, palm=palm)
        elif how == "arpeggio":
            wanted = strings[int(pattern[count % pattern.size]) % len(strings)]
            touches.append(_thumbed(plucked(rng, wanted, grip[wanted], now_s, ring_s, palm=palm), thumb_db))
        else:
            bass = strings[(count // 2) % 2 if len(strings) > 3 else 0]
            picked = [bass] if count % 2 else [bass, *rng.choice(strings[1:], min(2, len(strings) - 1), replace=False)]
            pinched = [plucked(rng, int(s), grip[int(s)], now_s + abs(rng.normal(0, 0.006)), ring_s) for s in picked]
            touches += [_thumbed(touch, thumb_db) for touch in pinched]
        if touches and not bells and rng.random() < ornate:
            touches += ornament(rng, touches[-1], eighth_s * float(rng.choice([0.5, 0.5, 1.0])))
        elif how == "strum" and touches and not bells and rng.random() < 0.5 * ornate:
            struck = [t for t in touches if t.at_s >= now_s - 0.02 and t.mute == "none"]
            touches += joined_together(rng, struck[-int(rng.integers(2, 4)) :], eighth_s, other=0.3)
        now_s += eighth_s * float(rng.choice([1, 1, 1, 2]))
        count += 1
    return _touched(touches, rng) if bells else touches


def _touched(touches: list[Touch], rng: np.random.Generator) -> list[Touch]:
    """The same strings as natural harmonics over one node after another."""
    node, partial = NODES[int(rng.integers(3))]
    found = []
    for touch in touches:
        if rng.random() < 0.1:
            node, partial = NODES[int(rng.integers(3))]
        level_db = touch.level_db + float(rng.normal(-3, 4))
        bell = replace(touch, fret=node, harmonic=partial, level_db=level_db)
        found.append(bell if touch.mute == "none" else touch)
    return found


def drawn_grip(rng: np.random.Generator) -> Grip:
    """Return a chord under the hand: an open one, a movable shape somewhere, or part of one."""
    if rng.random() < 0.35:
        frets, up = OPEN_SHAPES[int(rng.integers(len(OPEN_SHAPES)))], 0
    else:
        frets, up = MOVABLE_SHAPES[int(rng.integers(len(MOVABLE_SHAPES)))], int(rng.integers(0, 15))
    grip = {5 - k: int(fret) + up for k, fret in enumerate(frets) if fret != "."}
    if rng.random() < 0.4 and len(grip) > 3:  # three or four neighbours alone
        first = int(rng.integers(0, len(grip) - 2))
        keep = sorted(grip)[first : first + int(rng.choice([3, 4]))]
        grip = {string: grip[string] for string in keep}
    return {string: fret for string, fret in grip.items() if fret <= HIGHEST_FRET}


def strum(rng: np.random.Generator, grip: Grip, at_s: float, ring_s: float, *, palm: bool = False) -> list[Touch]:
    """Return one stroke over a chord: down or up, unevenly, now and then missing a string."""
    down = rng.random() < 0.65
    order = sorted(grip, reverse=down)
    if not down and len(order) > 3 and rng.random() < 0.5:
        order = order[: int(rng.integers(2, len(order)))]
    quickest_s, slowest_s = ROLL_S if rng.random() < 0.15 else STROKE_S
    step_s = float(np.exp(rng.uniform(np.log(quickest_s), np.log(slowest_s))))
    moments = at_s + step_s * (np.arange(len(order)) + rng.normal(0, 0.3, len(order)))
    dead = rng.random() < 0.06
    spread_db = float(rng.choice([2.0, 3.0, 5.0]))  # an uneven hand leaves basses soft
    found = []
    for string, moment in zip(order, moments, strict=True):
        if rng.random() < 0.05:
            continue
        touch = plucked(rng, string, grip[string], float(moment), ring_s, palm=palm, spread_db=spread_db)
        found.append(replace(touch, mute="dead", is_note=False) if dead else touch)
    return found


def plucked(
    rng: np.random.Generator,
    string: int,
    fret: int,
    at_s: float,
    ring_s: float,
    *,
    palm: bool = False,
    spread_db: float = 3.0,
) -> Touch:
    """Return one string picked by an uneven hand."""
    at_s = max(at_s, 0.0)
    level_db = float(np.clip(rng.normal(0, spread_db), -12, 6))
    mute: Mute = "palm" if palm else "none"
    return Touch(
        string, fret, at_s, at_s + ring_s, level_db=level_db, mute=mute, damping_s=float(rng.uniform(0.04, 0.2))
    )


def _released(touches: list[Touch], now_s: float, rng: np.random.Generator) -> list[Touch]:
    """Fretted notes stop when the hand leaves for the next chord; open strings may ring into it."""
    return [
        replace(t, until_s=max(t.at_s + 0.05, now_s - abs(rng.normal(0, 0.02))))
        if t.until_s > now_s and (t.fret > 0 or rng.random() < 0.5)
        else t
        for t in touches
    ]


def _thumbed(touch: Touch, thumb_db: float) -> Touch:
    """A bass by a thumb that is softer than the fingers."""
    return replace(touch, level_db=touch.level_db + thumb_db) if touch.string >= 3 else touch
