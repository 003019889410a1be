"""A plucked string as a sum of its partials, from one pick to the moment it is damped.

Partial n of a stiff string sounds at n f sqrt(1 + B n^2) (H. Fletcher, J. Acoust. Soc. Am. 36, 1964). Fretting
shortens the string at the same tension: B grows by 2^(fret/6); pushing it sideways raises the tension: B falls as
1 / f^2. How strongly a partial is set going and heard follows from where the string is picked and where it is heard
(N. Fletcher and T. Rossing, "The Physics of Musical Instruments", 2nd ed., chapter 2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.training.guitars import Guitar
from transcribe.training.lick import Lick
from transcribe.training.perform import CONTACT_S, Chain, Played
from transcribe.training.pitch import sounding

Floats = NDArray[np.float64]
PARTIALS = 45
SIXTY_DB = float(np.log(1000.0))
TAIL_S = 0.3  # kept after the string is damped
FINGER_DAMPING_S = 0.09  # time to fall 60 dB under a finger
PICK_DAMPING_S = 0.03  # the same under a pick
PALM_S, DEAD_S = 0.28, 0.045  # the same under the edge of the hand, and under a finger that only touches
ATTACK_GLIDE_CENTS = 5.0  # a string picked hard starts sharp: its mean tension is raised
ATTACK_GLIDE_S = 0.07
SECOND_PLANE_LIVES = 1.7  # times as long: the bridge takes less from motion along the body

# How much a legato touch leaves of what was sounding, and how strong it is itself against a pick; common practice.
TOUCH = {"hammer-on": (0.45, 0.35), "pull-off": (0.30, 0.45), "slide": (0.85, 0.04), "picked": (0.0, 1.0)}


@dataclass(frozen=True, slots=True)
class Excitation:
    """Energy put into the string at one moment: one pick, hammer or pull."""

    at_s: float
    keeps: float  # share of what was sounding before
    sizes: Floats  # of each partial, shape (PARTIALS,)
    rise_s: float


def pluck(lick: Lick, guitar: Guitar, chain: Chain, *, rate_hz: int, seed: int) -> tuple[Floats, Floats]:
    """Return the string's own sound and the pick's and fingers' noises, both shape (n,), first sample at the pick.

    The same for the same ``seed``. Before body, circuit and room. The pitch heard is the performance's, with the
    guitar's tuning offset and a small fall after each hard pick.
    """
    rng = np.random.default_rng(seed)
    first, last = chain.notes[0], chain.notes[-1]
    count = int((last.offset_s - first.onset_s + TAIL_S) * rate_hz)
    times_s = first.onset_s + np.arange(count) / rate_hz
    midi, pushed = sounding(chain, times_s)
    string = (first.step.string or 1) - 1
    fret = midi - lick.open_strings_midi[string]
    glide = sum(_glide_cents(note, times_s) for note in chain.notes if _is_picked(chain, note))
    f_hz = 440.0 * 2.0 ** ((midi - 69) / 12 + (pushed + glide + lick.tuning_offset_cents) / 1200)
    stretch = guitar.stretch[string] * 2.0 ** (fret / 6 - 2 * pushed / 1200)
    excitations = [_excitation(lick, guitar, chain, note, rng) for note in chain.notes]
    tone = _sum_partials(guitar, chain, excitations, f_hz, stretch, times_s, rng)
    return tone, _noises(guitar, chain, times_s, tone, rate_hz, rng)


def ring_s(guitar: Guitar, note: Played) -> float:
    """Return the seconds in which a note's fundamental falls by 60 dB if nothing damps it."""
    if note.step.mute != "none":
        return PALM_S if note.step.mute == "palm" else DEAD_S
    return guitar.sustain_s[(note.step.string or 1) - 1] * 2.0 ** (-note.step.fret / 24)


def _is_picked(chain: Chain, note: Played) -> bool:
    return note is chain.notes[0] or note.step.attack == "picked"


def _glide_cents(note: Played, times_s: Floats) -> Floats:
    since = times_s - note.onset_s
    hard = ATTACK_GLIDE_CENTS * 10 ** (note.level_db / 20)
    return np.where(since >= 0, hard * np.exp(-np.maximum(since, 0) / ATTACK_GLIDE_S), 0.0)


def _excitation(lick: Lick, guitar: Guitar, chain: Chain, note: Played, rng: np.random.Generator) -> Excitation:
    """Return the sizes of the partials set going by one touch, as heard at the pickup or the bridge."""
    picked = _is_picked(chain, note)
    keeps, strength = TOUCH["picked" if picked else note.step.attack]
    n = np.arange(1, PARTIALS + 1)
    length_mm = guitar.scale_mm * 2.0 ** (-(lick.capo + note.step.fret) / 12)
    where = (guitar.pick_mm + rng.normal(0, 6)) / length_mm
    sizes = np.sin(np.pi * n * min(where, 0.5)) / n ** (1.0 - guitar.brightness)
    if not picked:  # flesh, not plastic, and near the end of the string
        sizes = np.abs(sizes).max() / n**0.9 * np.exp(-n / 12.0)
    if guitar.pickup_mm is not None:
        heard = guitar.pickup_mm / length_mm
        sizes = sizes * np.sin(np.pi * n * heard) * np.sinc(n * 12.0 / length_mm)  # a coil hears 12 mm of string
    if note.step.mute != "none":
        sizes = sizes * np.exp(-n / (9.0 if note.step.mute == "palm" else 25.0))
    rise_s = 0.0008 if picked else 0.005
    return Excitation(note.onset_s, keeps, strength * 10 ** (note.level_db / 20) * sizes, rise_s)


def _sum_partials(
    guitar: Guitar,
    chain: Chain,
    excitations: list[Excitation],
    f_hz: Floats,
    stretch: Floats,
    times_s: Floats,
    rng: np.random.Generator,
) -> Floats:
    """Return the sum over partials and the string's two planes of motion, shape (n,)."""
    rate_hz = 1.0 / (times_s[1] - times_s[0])
    out = np.zeros(times_s.shape)
    damp, pinched = _damping_time(chain, times_s)
    uneven = rng.uniform(0.85, 1.2, PARTIALS)
    for index in range(PARTIALS):
        n = index + 1
        partial_hz = n * f_hz * np.sqrt(1 + stretch * n * n)
        if partial_hz.min() > 0.46 * rate_hz:
            break
        turns = np.cumsum(partial_hz) / rate_hz
        turns -= turns[0]
        audible = np.clip((0.48 * rate_hz - partial_hz) / (0.02 * rate_hz), 0, 1)
        extra = SIXTY_DB * (damp * (1 + 0.05 * n) / FINGER_DAMPING_S + pinched * (1 + 0.1 * n) / PICK_DAMPING_S)
        for plane, share in ((0, 1.0), (1, guitar.second_plane)):
            lives = uneven[index] * (SECOND_PLANE_LIVES if plane else 1.0)
            envelope = _envelope(guitar, chain, excitations, index, lives, times_s, f_hz)
            apart = 2.0 ** (plane * guitar.plane_cents / 1200)
            out += share * audible * envelope * np.exp(-extra) * np.sin(2 * np.pi * turns * apart)
    return out


def _damping_time(chain: Chain, times_s: Floats) -> tuple[Floats, Floats]:
    """Return seconds for which a finger, and a pick, has been lying on the string at each time."""
    last = chain.notes[-1]
    since = np.maximum(times_s - last.offset_s, 0.0)
    return since, since if chain.cut_by_pick else np.zeros(times_s.shape)


def _envelope(
    guitar: Guitar,
    chain: Chain,
    excitations: list[Excitation],
    index: int,
    lives: float,
    times_s: Floats,
    f_hz: Floats,
) -> Floats:
    """Return the size of one partial at each time: every touch adds, keeps part of the old, and all decays."""
    size = np.zeros(times_s.shape)
    before = 0.0
    bounds = [*(each.at_s for each in excitations), np.inf]
    for number, (note, touch) in enumerate(zip(chain.notes, excitations, strict=True)):
        inside = (times_s >= bounds[number]) & (times_s < bounds[number + 1])
        if not inside.any():
            continue
        since = times_s[inside] - touch.at_s
        hz = float(f_hz[inside][0]) * (index + 1)
        lives_here = lives if note.step.mute == "none" else 1.0  # a damping hand stops both planes alike
        rate = SIXTY_DB / (ring_s(guitar, note) * lives_here) * (1 + (hz / guitar.damping_hz) ** 1.6 * 0.6)
        wanted = before * touch.keeps + touch.sizes[index]
        landing = 1.0 - np.exp(-since / touch.rise_s)
        size[inside] = (before + (wanted - before) * landing) * np.exp(-rate * since)
        if note.step.slide == "out":  # the pressure goes as the hand leaves
            size[inside] *= np.clip((note.offset_s - times_s[inside]) / note.step.slide_s, 0.05, 1.0)
        before = float(size[inside][-1])
    return size


def _noises(
    guitar: Guitar, chain: Chain, times_s: Floats, tone: Floats, rate_hz: int, rng: np.random.Generator
) -> Floats:
    """Return pick clicks, wound-string squeaks in slides and the small sound of lifting, shape (n,)."""
    out = np.zeros(times_s.shape)
    peak = float(np.abs(tone[: int(0.1 * rate_hz)]).max())
    loud = peak * 10 ** (guitar.pick_noise_db / 20)
    for note in chain.notes:
        if _is_picked(chain, note):
            _add_burst(out, times_s, note.onset_s, 0.004, loud, rng)
            if note is not chain.notes[0]:
                _add_burst(out, times_s, note.onset_s - CONTACT_S, 0.001, 0.4 * loud, rng)
        elif note.step.attack != "slide":
            _add_burst(out, times_s, note.onset_s, 0.003, 0.12 * loud, rng)
        if note.step.mute == "dead":
            _add_burst(out, times_s, note.onset_s, 0.012, 2.0 * loud, rng)
        if note.step.slide is not None and (note.step.string or 1) >= 4:
            from_s = note.onset_s if note.step.slide == "in" else note.offset_s - note.step.slide_s
            moving = (times_s >= from_s) & (times_s < from_s + note.step.slide_s)
            out[moving] += 0.12 * loud * rng.standard_normal(int(moving.sum()))
    _add_burst(out, times_s, chain.notes[-1].offset_s, 0.008, 0.12 * loud, rng)
    return out


def _add_burst(out: Floats, times_s: Floats, at_s: float, fade_s: float, peak: float, rng: np.random.Generator) -> None:
    """Add one short burst of noise, brighter at its start."""
    since = times_s - at_s
    inside = (since >= 0) & (since < 8 * fade_s)
    noise = rng.standard_normal(int(inside.sum()))
    if noise.size > 2:
        out[inside] += peak * 0.6 * np.diff(noise, prepend=0.0) * np.exp(-since[inside] / fade_s)
