"""What follows on sounding strings without the pick: hammered, lifted and slid fingers, alone or together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from transcribe.training.touches import HIGHEST_FRET, Attack, Touch

AWAY = (-3, -2, -2, -1, 1, 2, 2, 3)  # frets a finger is hammered up or lifted down
PICKED_AGAIN = 0.35  # share of slides that end with the pick
TOGETHER_S = 0.006  # standard deviation between two fingers of a hand that land together; common practice


def ornament(rng: np.random.Generator, touch: Touch, after_s: float) -> list[Touch]:
    """Return a hammered or lifted finger inside a ringing chord, a while after its string was picked."""
    fret = touch.fret + int(rng.choice([-2, -1, 1, 2, 2]))
    at_s = touch.at_s + after_s
    if not 0 <= fret <= HIGHEST_FRET or at_s >= touch.until_s - 0.1:
        return []
    return [replace(touch, fret=fret, at_s=at_s, attack="hammered", level_db=touch.level_db - float(rng.uniform(1, 7)))]


def joined_together(
    rng: np.random.Generator, struck: list[Touch], length_s: float, *, other: float = 0.0
) -> list[Touch]:
    """Return fingers hammered on or lifted off together, now and then back again.

    With the chance ``other`` some of the strings, not all, are picked again instead while the rest are joined.
    """
    alike = rng.random() < 0.6  # a barre comes down or goes up; else each finger goes its own way
    away = [int(rng.choice(AWAY))] * len(struck) if alike else [int(k) for k in rng.choice(AWAY, len(struck))]
    frets = [t.fret + step for t, step in zip(struck, away, strict=True)]
    if len(struck) < 2 or not all(0 <= fret <= HIGHEST_FRET for fret in frets):
        return []
    at_s = max(t.at_s for t in struck) + max(0.06, length_s * float(rng.choice([0.25, 0.5, 1.0, 1.0])))
    softer_db = float(rng.uniform(0, 7))
    count = int(rng.integers(1, len(struck))) if rng.random() < other else 0
    again = set(rng.permutation(len(struck))[:count].tolist())
    found = [
        replace(
            t,
            fret=fret,
            at_s=at_s + float(rng.normal(0, TOGETHER_S)),
            until_s=at_s + length_s,
            attack="picked" if k in again else "hammered",
            level_db=t.level_db - (0.0 if k in again else softer_db),
            wave=None,
            pushes=(),
        )
        for k, (t, fret) in enumerate(zip(struck, frets, strict=True))
    ]
    if rng.random() < 0.25:  # and back
        back_s = at_s + max(0.06, length_s * float(rng.choice([0.25, 0.5, 1.0])))
        ends_s = back_s + length_s
        found += [
            replace(t, at_s=back_s + float(rng.normal(0, TOGETHER_S)), until_s=ends_s, attack="hammered")
            for t in struck
        ]
    return found


def slid_on(rng: np.random.Generator, pair: list[Touch], at_s: float, length_s: float) -> list[Touch]:
    """Return both strings slid by as many frets, arriving at ``at_s``, where now and then both are picked again.

    Nothing where a string is open or the neck ends before.
    """
    away = int(rng.choice([-3, -2, -1, 1, 2, 3, 4]))
    if not all(t.fret > 0 and 1 <= t.fret + away <= HIGHEST_FRET for t in pair):
        return []
    glide_s = min(float(rng.uniform(0.03, 0.16)), 0.6 * length_s)
    attack: Attack = "picked" if rng.random() < PICKED_AGAIN else "slid"
    late_s = TOGETHER_S * float(rng.normal()) if attack == "picked" else 0.0  # an upstroke or a downstroke
    return [
        replace(
            t,
            fret=t.fret + away,
            at_s=at_s + max(0.0, late_s if k else -late_s),
            until_s=at_s + length_s,
            attack=attack,
            glide_s=glide_s,
            wave=None,
            pushes=(),
        )
        for k, t in enumerate(pair)
    ]
