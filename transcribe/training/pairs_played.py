"""Two strings at a time: double stops, octaves, one string bending while another rings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from transcribe.training.chords_played import plucked
from transcribe.training.joined_played import joined_together, ornament, slid_on
from transcribe.training.lines_played import bent, wave
from transcribe.training.touches import HIGHEST_FRET, STANDARD_OPEN, Touch


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
            plucked(rng, string, place, now_s + (late_s if k else 0.0), length_s * held)
            for k, (string, place) in enumerate(places)
        ]
        if rng.random() < slide and min(place for _, place in places) > 0:
            moved = slid_on(rng, pair, now_s + length_s, length_s)
            now_s += length_s if moved else 0.0
            pair += moved
        elif rng.random() < 0.15:
            pair = [replace(t, wave=wave(t, rng)) if t.fret > 0 else t for t in pair]
        elif rng.random() < 0.5 * ornate:
            now_s += length_s
            pair += joined_together(rng, pair, length_s, other=0.2)
        elif rng.random() < ornate:
            pair += ornament(rng, pair[int(rng.integers(2))], length_s * float(rng.choice([0.25, 0.5, 0.5])))
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
        pair = [plucked(rng, s, f, now_s + step_s * (lower - s), length_s * held) for s, f in places.items()]
        between = [s for s in range(upper, lower) if s != upper and rng.random() < dead]
        for s in between:
            scratch = plucked(rng, s, fret, now_s + step_s * (lower - s), 0.08)
            touches.append(replace(scratch, mute="dead", is_note=False, level_db=scratch.level_db - 6.0))
        touches += pair
        if rng.random() < slide:
            moved = slid_on(rng, pair, now_s + length_s, length_s)
            now_s += length_s if moved else 0.0
            touches += moved
        now_s += length_s
    return touches


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
        first = plucked(rng, pushed, place, now_s + float(rng.normal(0, 0.005)), length_s)
        touches.append(bent(first, rng, to=semitones))
        wait_s = float(rng.choice([0.0, 0.0, 0.01, 0.5, 1.0])) * min(beat_s / 2, length_s / 2)
        touches.append(plucked(rng, held, fret, now_s + wait_s + abs(rng.normal(0, 0.004)), length_s - wait_s))
        if held > 0 and rng.random() < 0.25:
            touches.append(plucked(rng, held - 1, fret, now_s + wait_s + abs(rng.normal(0, 0.008)), length_s - wait_s))
        if rng.random() < 0.1:
            touches += ornament(rng, touches[-1], min(beat_s, length_s) / 2)
        elif rng.random() < 0.3:  # the held note is picked again over the bend
            again_s = now_s + wait_s + beat_s * float(rng.choice([0.5, 1.0]))
            if again_s < now_s + length_s - 0.1:
                touches.append(plucked(rng, held, fret, again_s, now_s + length_s - again_s))
        now_s += length_s
    return touches
