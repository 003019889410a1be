"""Bends: how far and how hard a string must be pushed, and where that can be done."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from fingering.fretboard import Fretboard


@dataclass(frozen=True, slots=True)
class BendSettings:
    """Strings and limits. Diameters in millimetres, string 1 first.

    Plain gauges .010, .013 and .017 and wound .026, .036, .046 inch: a usual light set. Core diameters of the wound
    strings are from memory, so strings 4 to 6 are rough. Tensions in newtons follow from pitch and density.
    """

    core_mm: tuple[float, ...] = (0.254, 0.330, 0.432, 0.330, 0.381, 0.457)
    tension_n: tuple[float, ...] = (72.1, 68.5, 73.8, 81.8, 86.7, 77.8)  # 16.2 15.4 16.6 18.4 19.5 17.5 lb
    steel_gpa: float = 200.0
    # the farthest bend in semitones, per string: from fret 5 up, and on frets 1 to 4. Common practice.
    most_up_neck: tuple[float, ...] = (4.0, 4.0, 4.0, 2.0, 2.0, 2.0)
    most_near_nut: tuple[float, ...] = (2.0, 2.0, 2.0, 1.0, 1.0, 1.0)
    nut_ends_at_fret: int = 5
    index_alone_semitones: float = 1.0  # finger 1 without support behind it: common practice
    second_finger_semitones: float = 2.0  # finger 2 with only the index behind it: common practice
    caution_push_n: float = 20.0  # side force above which a caution is given: a whole tone near the nut; calculated


BENDS = BendSettings()


@lru_cache(maxsize=4096)
def push_for(
    string: int, fret: int, semitones: float, scale_length_mm: float = 648.0, strings: BendSettings = BENDS
) -> tuple[float, float]:
    """Return how far (mm) and how hard (N) a string is pushed aside at its fret to rise by ``semitones``.

    A straight elastic string fixed at nut and bridge, no friction; the pitch follows tension, which follows Young's
    modulus (D. R. Grimes, "String theory: the physics of string-bending", PLoS ONE 9(7): e102088, 2014).
    ``fret`` counts from the nut.
    """
    index = min(string, len(strings.core_mm)) - 1
    tension_n = strings.tension_n[index]
    stiffness_n = strings.steel_gpa * 1000.0 * math.pi * strings.core_mm[index] ** 2 / 4.0  # E A; GPa * mm^2 = kN
    front_mm = scale_length_mm * 2.0 ** (-fret / 12.0)
    behind_mm = scale_length_mm - front_mm
    wanted = 2.0 ** (semitones / 12.0)

    def at(push_mm: float) -> tuple[float, float]:
        front, behind = math.hypot(front_mm, push_mm), math.hypot(behind_mm, push_mm)
        longer = (front + behind - scale_length_mm) / scale_length_mm
        pulled_n = tension_n + stiffness_n * longer
        ratio = math.sqrt(pulled_n / tension_n * (1.0 + longer)) * front_mm / front
        return ratio, pulled_n * push_mm * (1.0 / front + (1.0 / behind if behind else 0.0))

    low, high = 0.0, 80.0
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if at(middle)[0] < wanted else (low, middle)
    return high, at(high)[1]


def most_semitones(string: int, fret_from_nut: int, strings: BendSettings = BENDS) -> float:
    """Return the farthest usual bend on this string at this fret (counted from the nut), in semitones."""
    if fret_from_nut <= 0:
        return 0.0
    limits = strings.most_near_nut if fret_from_nut < strings.nut_ends_at_fret else strings.most_up_neck
    return limits[min(string, len(limits)) - 1]


def finger_can_bend(finger: int, semitones: float, strings: BendSettings = BENDS) -> bool:
    """Return whether this finger has the strength for the bend; fingers behind it help."""
    if finger == 1:
        return semitones <= strings.index_alone_semitones
    if finger == 2:
        return semitones <= strings.second_finger_semitones
    return finger in (3, 4)


def can_bend(fretboard: Fretboard, string: int, fret: int, finger: int, semitones: float) -> bool:
    """Return whether a bend of ``semitones`` can be made at this place (fret from the capo) with this finger."""
    fits = semitones <= most_semitones(string, fret + fretboard.capo) + 1e-9
    return fret > 0 and fits and finger_can_bend(finger, semitones)


def strings_swept(string: int, n_strings: int, push_mm: float, spacing_mm: float) -> tuple[tuple[int, ...], ...]:
    """Return, per possible direction of the push, the strings it drags along.

    Strings 1 to 3 are pushed up toward the bass side, the lowest two pulled down, those between go either way: the
    first must go up and the last must go down or they leave the neck (common practice).
    """
    count = max(1, math.ceil(push_mm / spacing_mm - 0.5))
    up = tuple(range(string + 1, min(n_strings, string + count) + 1))
    down = tuple(range(string - 1, max(0, string - 1 - count), -1))
    if string <= 3:
        return (up,)
    return (down,) if string >= n_strings - 1 else (up, down)
