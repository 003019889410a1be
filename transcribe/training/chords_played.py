"""Several strings at once: strums, arpeggios, pinches, double stops, one string bending while another rings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from transcribe.training.lines_played import NODES, bent, wave
from transcribe.training.touches import HIGHEST_FRET, STANDARD_OPEN, Mute, Touch

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


def chords(rng: np.random.Generator, start_s: float, end_s: float) -> list[Touch]:
    """Return chords strummed, picked one string after another, or pinched with a bass, changing now and then."""
    eighth_s = 30.0 / float(rng.uniform(60, 170))
    how = rng.choice(["strum", "arpeggio", "pinch"], p=[0.4, 0.4, 0.2])
    touches: list[Touch] = []
    grip, now_s, count = drawn_grip(rng), start_s, 0
    change = int(rng.choice([4, 8, 8, 16]))
    pattern = rng.integers(0, 6, int(rng.choice(PATTERN_LENGTH)))
    bells = rng.random() < 0.04
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
            touches.append(_thumbed(_plucked(rng, wanted, grip[wanted], now_s, ring_s, palm=palm), thumb_db))
        else:
            bass = strings[(count // 2) % 2 if len(strings) > 3 else 0]
            picked = [bass] if count % 2 else [bass, *rng.choice(strings[1:], min(2, len(strings) - 1), replace=False)]
            pinched = [_plucked(rng, int(s), grip[int(s)], now_s + abs(rng.normal(0, 0.006)), ring_s) for s in picked]
            touches += [_thumbed(touch, thumb_db) for touch in pinched]
        if touches and not bells and rng.random() < ornate:
            touches += _ornament(rng, touches[-1], eighth_s * float(rng.choice([0.5, 0.5, 1.0])))
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
        level_db = touch.level_db + float(rng.normal(-2, 3))
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
    step_s = float(np.exp(rng.uniform(np.log(0.002), np.log(0.03))))
    moments = at_s + step_s * (np.arange(len(order)) + rng.normal(0, 0.3, len(order)))
    dead = rng.random() < 0.06
    spread_db = float(rng.choice([2.0, 3.0, 5.0]))  # an uneven hand leaves basses soft
    found = []
    for string, moment in zip(order, moments, strict=True):
        if rng.random() < 0.05:
            continue
        touch = _plucked(rng, string, grip[string], float(moment), ring_s, palm=palm, spread_db=spread_db)
        found.append(replace(touch, mute="dead", is_note=False) if dead else touch)
    return found


def _plucked(
    rng: np.random.Generator,
    string: int,
    fret: int,
    at_s: float,
    ring_s: float,
    *,
    palm: bool = False,
    spread_db: float = 3.0,
) -> Touch:
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


def _ornament(rng: np.random.Generator, touch: Touch, after_s: float) -> list[Touch]:
    """A hammered or lifted finger inside a ringing chord, a while after its string was picked."""
    fret = touch.fret + int(rng.choice([-2, -1, 1, 2, 2]))
    at_s = touch.at_s + after_s
    if not 0 <= fret <= HIGHEST_FRET or at_s >= touch.until_s - 0.1:
        return []
    return [replace(touch, fret=fret, at_s=at_s, attack="hammered", level_db=touch.level_db - float(rng.uniform(1, 7)))]


def double_stops(rng: np.random.Generator, start_s: float, end_s: float) -> list[Touch]:
    """Return two notes at a time: thirds, fourths, sixths, octaves; slid, hammered, shaken, picked again."""
    if rng.random() < 0.2:
        return octaves(rng, start_s, end_s)
    beat_s = 60.0 / float(rng.uniform(60, 180))
    skip = int(rng.choice([1, 1, 1, 2, 3]))
    upper, fret, now_s, touches = int(rng.integers(0, 6 - skip)), int(rng.integers(0, 16)), start_s, []
    apart = int(rng.integers(-2, 3))
    slide, again, held = 0.4 * rng.random() ** 2, rng.random() * 0.4, float(rng.choice([0.6, 0.9, 1.0]))
    ornate = 0.6 * rng.random() ** 2
    while now_s < end_s:
        length_s = max(0.09, beat_s * float(rng.choice([0.25, 0.5, 0.5, 1.0, 1.0, 2.0])))
        if rng.random() >= again:
            fret = int(np.clip(fret + rng.choice([-3, -2, -1, 1, 2, 3, 5, -5]), 0, 18))
            apart = int(rng.integers(-2, 3)) if rng.random() < 0.5 else apart
            if rng.random() < 0.2:
                upper = int(rng.integers(0, 6 - skip))
        places = [(upper, fret), (upper + skip, max(0, fret + apart))]
        late_s = float(rng.choice([0.0, 0.004, 0.012])) * float(rng.normal())
        pair = [
            _plucked(rng, string, place, now_s + (late_s if k else 0.0), length_s * held)
            for k, (string, place) in enumerate(places)
        ]
        if rng.random() < slide and min(place for _, place in places) > 0:
            now_s += length_s
            pair += _slid_on(rng, pair, now_s, length_s)
        elif rng.random() < 0.15:
            pair = [replace(t, wave=wave(t, rng)) if t.fret > 0 else t for t in pair]
        elif rng.random() < ornate:
            pair += _ornament(rng, pair[int(rng.integers(2))], length_s * float(rng.choice([0.25, 0.5, 0.5])))
        touches += pair
        now_s += length_s
    return touches


def octaves(rng: np.random.Generator, start_s: float, end_s: float) -> list[Touch]:
    """Return a melody in octaves struck with one stroke: the strings between and around them sound dead."""
    beat_s = 60.0 / float(rng.uniform(70, 180))
    dead, held, slide = float(rng.choice([0.0, 0.4, 0.9])), float(rng.choice([0.5, 0.8, 1.0])), 0.4 * rng.random()
    lower, fret, now_s, touches = int(rng.integers(2, 6)), int(rng.integers(1, 14)), start_s, []
    while now_s < end_s:
        length_s = max(0.09, beat_s * float(rng.choice([0.25, 0.5, 0.5, 0.5, 1.0, 1.0])))
        if rng.random() < 0.15:
            lower = int(np.clip(lower + rng.choice([-1, 1]), 2, 5))
        fret = int(np.clip(fret + rng.choice([-5, -3, -2, -1, 0, 0, 1, 2, 3, 5]), 1, 16))
        upper = lower - (3 if lower == 5 and rng.random() < 0.2 else 2)
        places = {lower: fret, upper: fret + STANDARD_OPEN[lower] + 12 - STANDARD_OPEN[upper]}
        if not 0 <= places[upper] <= HIGHEST_FRET:
            continue
        step_s = float(np.exp(rng.uniform(np.log(0.001), np.log(0.015))))
        pair = [_plucked(rng, s, f, now_s + step_s * (lower - s), length_s * held) for s, f in places.items()]
        between = [s for s in range(upper, lower) if s != upper and rng.random() < dead]
        for s in between:
            scratch = _plucked(rng, s, fret, now_s + step_s * (lower - s), 0.08)
            touches.append(replace(scratch, mute="dead", is_note=False, level_db=scratch.level_db - 6.0))
        touches += pair
        if rng.random() < slide:
            now_s += length_s
            touches += _slid_on(rng, pair, now_s, length_s)
        now_s += length_s
    return touches


def _slid_on(rng: np.random.Generator, pair: list[Touch], at_s: float, length_s: float) -> list[Touch]:
    away = int(rng.choice([-3, -2, -1, 1, 2, 3, 4]))
    glide_s = min(float(rng.uniform(0.03, 0.16)), 0.6 * length_s)
    return [
        replace(t, fret=t.fret + away, at_s=at_s, until_s=at_s + length_s, attack="slid", glide_s=glide_s, pushes=())
        for t in pair
        if 1 <= t.fret + away <= HIGHEST_FRET and t.fret > 0
    ]


def oblique(rng: np.random.Generator, start_s: float, end_s: float) -> list[Touch]:
    """Return phrases where one string bends while one or two others ring, or both meet on one pitch."""
    beat_s = 60.0 / float(rng.uniform(55, 150))
    now_s, touches = start_s, []
    while now_s < end_s:
        length_s = beat_s * float(rng.choice([1.0, 1.5, 2.0, 3.0]))
        held = int(rng.choice([0, 0, 1, 1, 2]))
        pushed = held + int(rng.choice([1, 1, 2]))
        fret = int(rng.integers(3, 17))
        semitones = float(rng.choice([1.0, 2.0, 2.0, 2.0]))
        place = fret + int(rng.choice([0, 1, 2, 2, 3]))
        if rng.random() < 0.25:  # a unison: the pushed string reaches the held one's pitch
            place = STANDARD_OPEN[held] + fret - STANDARD_OPEN[pushed] - round(semitones)
        if not 2 <= place <= HIGHEST_FRET:
            continue
        first = _plucked(rng, pushed, place, now_s + float(rng.normal(0, 0.005)), length_s)
        touches.append(bent(first, rng, to=semitones))
        wait_s = float(rng.choice([0.0, 0.0, 0.01, 0.5, 1.0])) * min(beat_s / 2, length_s / 2)
        touches.append(_plucked(rng, held, fret, now_s + wait_s + abs(rng.normal(0, 0.004)), length_s - wait_s))
        if held > 0 and rng.random() < 0.25:
            touches.append(_plucked(rng, held - 1, fret, now_s + wait_s + abs(rng.normal(0, 0.008)), length_s - wait_s))
        if rng.random() < 0.1:
            touches += _ornament(rng, touches[-1], min(beat_s, length_s) / 2)
        elif rng.random() < 0.3:  # the held note is picked again over the bend
            again_s = now_s + wait_s + beat_s * float(rng.choice([0.5, 1.0]))
            if again_s < now_s + length_s - 0.1:
                touches.append(_plucked(rng, held, fret, again_s, now_s + length_s - again_s))
        now_s += length_s
    return touches
