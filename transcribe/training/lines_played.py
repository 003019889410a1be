"""Single lines as guitarists play them: boxes, scales, bends, slides, hammered and lifted fingers, vibrato, mutes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from transcribe.training.joined_played import PICKED_AGAIN
from transcribe.training.touches import HIGHEST_FRET, STANDARD_OPEN, Touch

SCALES = (
    (0, 3, 5, 7, 10),  # minor pentatonic
    (0, 3, 5, 6, 7, 10),  # with the flat fifth
    (0, 2, 4, 7, 9),  # major pentatonic
    (0, 2, 4, 5, 7, 9, 11),
    (0, 2, 3, 5, 7, 8, 10),
    (0, 2, 4, 5, 7, 9, 10),
    tuple(range(12)),
)
VALUES = (0.25, 1 / 3, 0.5, 0.5, 0.5, 0.75, 1.0, 1.0, 1.5, 2.0)  # beats
NODES = ((12, 2), (7, 3), (5, 4), (4, 5))  # fret a finger touches, and every which partial it leaves
BENDS = (0.25, 0.5, 1.0, 1.0, 2.0, 2.0, 2.0, 3.0)  # semitones above the fret


@dataclass(frozen=True, slots=True)
class Manner:
    """How one player plays one passage."""

    beat_s: float
    legato: float  # chance that the next note on a string is not picked
    slide: float
    bend: float
    vibrato: float
    palm: float
    dead: float
    harmonic: float
    repeat: float
    held: tuple[float, float]  # sounding part of each note's time, from and to
    rings: bool  # notes on other strings ring on
    accent_db: float


def drawn_manner(rng: np.random.Generator) -> Manner:
    """Return a random manner: each gesture is rare in one passage and common in another."""

    def share(highest: float) -> float:
        return float(highest * rng.random() ** 2)

    held = [(0.96, 1.0), (0.75, 1.0), (0.35, 0.8)][int(rng.choice(3, p=[0.6, 0.25, 0.15]))]
    return Manner(
        beat_s=60.0 / float(rng.uniform(60, 200)),
        legato=share(0.8),
        slide=share(0.4),
        bend=share(0.6),
        vibrato=share(0.7),
        palm=1.0 if rng.random() < 0.08 else share(0.2),
        dead=share(0.12),
        harmonic=1.0 if rng.random() < 0.09 else share(0.12),
        repeat=share(0.5),
        held=held,
        rings=bool(rng.random() < 0.25),
        accent_db=float(rng.uniform(0, 4)),
    )


def line(rng: np.random.Generator, start_s: float, end_s: float) -> list[Touch]:
    """Return a single line from ``start_s`` to ``end_s``."""
    manner = drawn_manner(rng)
    places = box(rng)
    at = int(rng.integers(len(places)))
    touches: list[Touch] = []
    now_s = start_s
    while now_s < end_s:
        length_s = max(manner.beat_s * float(rng.choice(VALUES)), 0.07)
        if rng.random() < 0.06:  # a rest
            now_s += length_s
            continue
        if rng.random() >= manner.repeat:
            at = int(np.clip(at + rng.choice([-3, -2, -1, -1, 1, 1, 2, 3]), 0, len(places) - 1))
        if touches and rng.random() < 0.02:  # the hand moves
            places = box(rng)
            at = min(at, len(places) - 1)
        group = _phrase(rng, manner, places[at], now_s + float(rng.normal(0, 0.007)), length_s)
        touches += group
        now_s = max(now_s + length_s, group[-1].until_s if manner.rings is False else now_s + length_s)
    return _let_ring(touches, rng) if manner.rings else touches


def box(rng: np.random.Generator) -> list[tuple[int, int]]:
    """Return the (string, fret) places of a scale under one hand, rising in pitch."""
    lowest = int(rng.choice([0, int(rng.integers(0, 18))], p=[0.15, 0.85]))
    reach = int(rng.choice([3, 4, 4, 5]))
    root, scale = int(rng.integers(12)), SCALES[int(rng.choice(len(SCALES), p=[0.3, 0.1, 0.1, 0.2, 0.15, 0.1, 0.05]))]
    places = [
        (string, fret)
        for string in range(6)
        for fret in range(lowest, min(lowest + reach, HIGHEST_FRET + 1))
        if (STANDARD_OPEN[string] + fret - root) % 12 in scale
    ]
    return sorted(places, key=lambda place: STANDARD_OPEN[place[0]] + place[1])


def _phrase(
    rng: np.random.Generator, manner: Manner, place: tuple[int, int], at_s: float, length_s: float
) -> list[Touch]:
    """One picked note with what is done to it, and the notes that run on from it on the same string."""
    string, fret = place
    at_s = max(at_s, 0.0)
    touch = Touch(
        string,
        fret,
        at_s,
        at_s + length_s * float(rng.uniform(*manner.held)),
        level_db=float(rng.normal(0, 1.5) + manner.accent_db * rng.choice([-1, 0, 1]) / 2),
        damping_s=float(rng.choice([0.03, 0.06, 0.15, 0.4])),
    )
    dice = rng.random()
    if dice < manner.dead:
        return [replace(touch, mute="dead", is_note=False)]
    if dice < manner.dead + manner.palm:
        return [replace(touch, mute="palm")]
    if rng.random() < manner.harmonic:
        node, partial = NODES[int(rng.choice(len(NODES), p=[0.5, 0.25, 0.17, 0.08]))]
        until_s = touch.at_s + length_s * float(rng.uniform(1.0, 4.0))
        level_db = touch.level_db + float(rng.normal(-3, 4))  # a light touch, not always well placed
        return [replace(touch, fret=node, harmonic=partial, until_s=until_s, level_db=level_db)]
    if fret >= 2 and rng.random() < manner.bend:
        return [bent(touch, rng)]
    if rng.random() < manner.vibrato and fret > 0 and length_s > 0.25:
        touch = replace(touch, wave=wave(touch, rng))
    group = [touch]
    while rng.random() < manner.legato + manner.slide and len(group) < 6 and group[-1].at_s < at_s + 1.5:
        group = _run_on(group, rng, manner, length_s)
    if rng.random() < manner.slide / 3:
        group[-1] = _let_fall(group[-1], rng)
    return group


def _run_on(group: list[Touch], rng: np.random.Generator, manner: Manner, length_s: float) -> list[Touch]:
    """The group with one more note on its string, hammered, pulled or slid to."""
    last = group[-1]
    slides = rng.random() * (manner.legato + manner.slide) < manner.slide
    away = int(rng.choice([1, 2, 2, 3, 4, 5, 7] if slides else [1, 1, 2, 2, 3, 4])) * int(rng.choice([-1, 1]))
    fret = last.fret + away
    if not (1 if slides else 0) <= fret <= HIGHEST_FRET or (slides and last.fret == 0):
        fret = last.fret + abs(away) if last.fret + abs(away) <= HIGHEST_FRET else last.fret - abs(away)
    at_s = last.at_s + max(0.045, length_s * float(rng.choice([0.5, 1.0, 1.0])) + float(rng.normal(0, 0.008)))
    if rng.random() < 0.1:  # a grace note
        at_s = last.at_s + float(rng.uniform(0.045, 0.12))
    glide_s = 0.0
    if slides:
        glide_s = min(float(rng.uniform(0.02, 0.2)) * max(1.0, abs(away) / 3), 0.7 * (at_s - last.at_s))
    again = glide_s > 0 and rng.random() < PICKED_AGAIN
    group[-1] = replace(last, until_s=at_s, wave=None)
    touch = Touch(
        last.string,
        fret,
        at_s,
        at_s + length_s,
        attack="picked" if again else "slid" if glide_s > 0 else "hammered",
        level_db=last.level_db - (0.0 if slides else float(rng.uniform(-1, 9))),
        glide_s=glide_s,
        damping_s=last.damping_s,
    )
    if rng.random() < manner.vibrato and fret > 0:
        touch = replace(touch, wave=wave(touch, rng))
    return [*group, touch]


def _let_fall(touch: Touch, rng: np.random.Generator) -> Touch:
    """The touch with a hand that slides away down the neck as it lets go."""
    over_s = min(float(rng.uniform(0.08, 0.3)), 0.5 * (touch.until_s - touch.at_s))
    frets = min(touch.fret - 1, int(rng.integers(3, 10)))
    return replace(touch, fall=(frets, over_s), wave=None) if frets >= 2 else touch


def bent(touch: Touch, rng: np.random.Generator, to: float | None = None) -> Touch:
    """Return the touch with a push: up, up and back, made before the pick and let down, or up in two steps."""
    length_s = touch.until_s - touch.at_s
    size = float(rng.choice(BENDS)) if to is None else to
    size += float(rng.normal(0, 0.08))
    starts_s = touch.at_s + float(rng.uniform(0.0, 0.35)) * length_s
    over_s = float(np.exp(rng.uniform(np.log(0.05), np.log(0.45))))
    kind = rng.choice(["up", "back", "before", "twice"], p=[0.5, 0.25, 0.17, 0.08])
    pushes: list[tuple[float, float, float]] = [(starts_s, over_s, size)]
    down_s = starts_s + over_s + float(rng.uniform(0.05, 0.5)) * length_s
    if kind == "back":
        pushes.append((down_s, float(rng.uniform(0.05, 0.35)), 0.0))
    elif kind == "before":
        pushes = [(touch.at_s, 0.0, size), (down_s - over_s, float(rng.uniform(0.06, 0.35)), 0.0)]
    elif kind == "twice":
        pushes.append((down_s, over_s, size + float(rng.choice([-1.0, 1.0]))))
    shaken = kind == "up" and rng.random() < 0.4
    return replace(touch, pushes=tuple(pushes), wave=wave(touch, rng, after_s=starts_s + over_s) if shaken else None)


def wave(touch: Touch, rng: np.random.Generator, *, after_s: float | None = None) -> tuple[float, float, float]:
    """Return a vibrato of a hand: 4 to 7.5 Hz, 8 to 60 cents."""
    begins_s = touch.at_s + float(rng.uniform(0.0, 0.3)) if after_s is None else after_s + 0.05
    return float(rng.uniform(4.0, 7.5)), float(np.exp(rng.uniform(np.log(0.08), np.log(0.6)))), begins_s


def _let_ring(touches: list[Touch], rng: np.random.Generator) -> list[Touch]:
    """Every note rings on until its string is used again, or for a second or two."""
    return [replace(t, until_s=t.until_s + float(rng.uniform(0.3, 2.0))) if t.mute == "none" else t for t in touches]
