"""A performance played on recorded single notes: each stroke replays one note at a changing rate.

Bends, slides and vibrato are the performance's own pitch against the pitch the note was recorded at; a hammered or
lifted finger goes on inside another recorded note, past its attack; hands damp as they do in the string model.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.training.note_bank import PALM_GUITAR, RATE_HZ, Bank
from transcribe.training.perform import CONTACT_S, Chain, Performance, Played
from transcribe.training.pitch import sounding
from transcribe.training.strings import FINGER_DAMPING_S, PICK_DAMPING_S, SIXTY_DB
from transcribe.training.truth import HEARD_DB

Floats = NDArray[np.float64]
PEAK = 0.7
TAIL_S = 0.35
OVER = 2  # the notes are read at this many times their rate
NEAR_SEMITONES = 1.6  # a note recorded this near may be taken
PAST_ATTACK_S = 0.03  # where a hammered or lifted note is entered
TOUCH_DB = -4.0  # its loudness against a pick
JOIN_S = 0.008
PALM_S, DEAD_S = 0.4, 0.045  # time to fall 60 dB under the palm, and under a finger that only touches
FRAME = 256


@dataclass(frozen=True, slots=True)
class _Take:
    """A stretch of a chain played by one recorded note."""

    notes: tuple[Played, ...]
    until_s: float
    enters_s: float  # into the recorded note
    gain: float


def play_bank(
    performance: Performance, bank: Bank, guitar: str, *, seed: int
) -> tuple[NDArray[np.float32], dict[str, float]]:
    """Return the take at RATE_HZ, mono, peak 0.7, and for each note the seconds to fall by 60 dB, by its id."""
    rng = np.random.default_rng([seed, 3])
    mix = np.zeros(int((performance.end_s + 0.1) * RATE_HZ))
    fades: dict[str, float] = {}
    for chain in performance.chains:
        for take in _takes(chain):
            tone = _replayed(performance, chain, take, bank, guitar, rng)
            first = round(take.notes[0].onset_s * RATE_HZ)
            part = tone[: mix.size - first]
            mix[first : first + part.size] += part
            fades |= {note.id: _fade_s(note, tone, take.notes[0].onset_s) for note in take.notes}
        if chain.cut_by_pick:
            _click(mix, chain.notes[-1].offset_s + 0.2 * CONTACT_S, rng)
    return (PEAK * mix / np.abs(mix).max()).astype(np.float32), fades


def _takes(chain: Chain) -> list[_Take]:
    """A new recorded note for each pick, hammer and pull; a slide or bend stays in its own."""
    starts = [k for k, note in enumerate(chain.notes) if k == 0 or note.step.attack != "slide"]
    found = []
    for k, after in zip(starts, [*starts[1:], len(chain.notes)], strict=True):
        notes = chain.notes[k:after]
        picked = k == 0 or notes[0].step.attack == "picked"
        until_s = chain.notes[after].onset_s if after < len(chain.notes) else notes[-1].offset_s
        gain = 10 ** ((notes[0].level_db + (0.0 if picked else TOUCH_DB)) / 20)
        found.append(_Take(notes, until_s, 0.0 if picked else PAST_ATTACK_S, gain))
    return found


def _replayed(
    performance: Performance, chain: Chain, take: _Take, bank: Bank, guitar: str, rng: np.random.Generator
) -> Floats:
    start_s = take.notes[0].onset_s
    times_s = start_s + np.arange(int((take.until_s + TAIL_S - start_s) * RATE_HZ)) / RATE_HZ
    fretted, cents = sounding(chain, times_s)
    mute = take.notes[0].step.mute
    player = PALM_GUITAR if mute == "palm" and PALM_GUITAR in bank.playable else guitar
    which = _recorded(bank, player, take.notes[0].midi, rng)
    sound = bank.samples[bank.start[which] : bank.start[which] + bank.length[which]]
    away = fretted + (cents + performance.lick.tuning_offset_cents) / 100 - float(bank.midi[which])
    place = take.enters_s * RATE_HZ + np.concatenate(([0.0], np.cumsum(2.0 ** (away[:-1] / 12))))
    tone = take.gain / float(bank.level[which]) * _read_at(sound, place)
    tone *= np.minimum(1.0, (times_s - start_s) / JOIN_S) if take.enters_s else 1.0
    last = take.notes[-1] is chain.notes[-1]
    damping_s = FINGER_DAMPING_S if last and not chain.cut_by_pick else PICK_DAMPING_S
    tone *= np.exp(-SIXTY_DB * np.maximum(times_s - take.until_s, 0.0) / damping_s)
    if mute != "none":
        tone *= np.exp(-SIXTY_DB * (times_s - start_s) / (PALM_S if mute == "palm" else DEAD_S))
    if take.notes[-1].step.slide == "out":  # the pressure goes as the hand leaves
        step = take.notes[-1].step
        tone *= np.clip((take.notes[-1].offset_s - times_s) / step.slide_s, 0.05, 1.0)
    return tone


def _recorded(bank: Bank, guitar: str, midi: float, rng: np.random.Generator) -> int:
    """Return one of the nearest recorded notes of a guitar."""
    mine = np.flatnonzero((bank.guitar == bank.guitars.index(guitar)) & (bank.midi > 0))
    away = np.abs(bank.midi[mine] - midi)
    near = mine[away <= max(NEAR_SEMITONES, float(away.min()) + 0.3)]
    return int(rng.choice(near))


def _read_at(sound: NDArray[np.int16], place: Floats) -> Floats:
    """Return a sound's values between its samples (cubic, at twice its rate), 0 past its end."""
    import soxr

    fine = np.asarray(soxr.resample(sound.astype(np.float64) / 32767, RATE_HZ, OVER * RATE_HZ))
    fine = np.concatenate((fine, np.zeros(4)))
    at = np.clip(place * OVER, 1.0, fine.size - 3.001)
    k = at.astype(int)
    x = at - k
    a, b, c, d = (fine[k + step] for step in (-1, 0, 1, 2))
    return b + 0.5 * x * (c - a + x * (2 * a - 5 * b + 4 * c - d + x * (3 * (b - c) + d - a)))


def _fade_s(note: Played, tone: Floats, start_s: float) -> float:
    """Return the seconds in which the note would fall by 60 dB, from when it is HEARD_DB below its loudest."""
    first = int((note.onset_s - start_s) * RATE_HZ)
    part = tone[first:]
    size = part.size // FRAME
    level = np.sqrt(np.mean(part[: size * FRAME].reshape(size, FRAME) ** 2, axis=1)) + 1e-12
    start = int(level[: max(1, int(0.15 * RATE_HZ / FRAME))].argmax())
    loud = np.flatnonzero(level >= level[start] * 10 ** (-HEARD_DB / 20))
    return max(0.02, (float(loud[-1]) + 1) * FRAME / RATE_HZ) * 60 / HEARD_DB


def _click(mix: Floats, at_s: float, rng: np.random.Generator) -> None:
    """The pick comes to rest on a sounding string."""
    first = int(at_s * RATE_HZ)
    part = mix[first : first + 24]
    part += 0.02 * np.abs(mix).max() * rng.standard_normal(part.size) * np.exp(-np.arange(part.size) / 7.0)
