"""Single notes of whole necks, by the sound alone: part of ``benchmark_strings``, which tells the protocol."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import product

import numpy as np
from numpy.typing import NDArray

from tests.voice_material import RATE_HZ, Condition, recorded
from transcribe.audio.recording import Recording
from transcribe.evidence.network import voice_maps
from transcribe.evidence.string_sets import StringWeights, explanations
from transcribe.notes.note import Note
from transcribe.notes.string_clue import StringClue, explained, string_clues
from transcribe.training.guitars import ELECTRIC_STRETCH, GUITARS, Guitar
from transcribe.training.lick import Lick, Step
from transcribe.training.perform import perform
from transcribe.training.render import render

JUDGING_NECKS, CHOOSING_NECKS = range(4), range(100, 104)  # numbers of guitars drawn anew
OPEN_MIDI = (64, 59, 55, 50, 45, 40)


def count_necks(condition: Condition, numbers: range) -> str:
    """Return the line of one condition: notes, share read, share right with the network and (without), two ways."""
    notes = read = 0
    right = dict.fromkeys(product((False, True), (False, True)), 0)  # with the network, with the guitar's others
    for number in numbers:
        rows = [(string, fret) for string in range(1, 7) for fret in range(0, 23)]
        clues, heard = _neck(_drawn(number), rows, number, condition)
        notes += len(rows)
        read += sum(bool(clue.ways) or clue.shares is not None for clue in clues)
        for network in (False, True):
            together = _told(clues, heard, network=network)
            for k, (string, _) in enumerate(rows):
                alone = _told(clues[k : k + 1], heard[k : k + 1], network=network)[0]
                right[network, False] += alone is not None and int(np.argmax(alone)) + 1 == string
                told = together[k]
                right[network, True] += told is not None and int(np.argmax(told)) + 1 == string
    share = {each: count / notes for each, count in right.items()}
    return (
        f"{notes:7}{read / notes:8.2f}{share[True, False]:15.3f} ({share[False, False]:.3f})"
        f"{share[True, True]:26.3f} ({share[False, True]:.3f})"
    )


def _told(clues: Sequence[StringClue], notes: Sequence[Note], *, network: bool) -> StringWeights:
    """What the sound says, with the network as a draft would, or the stretch alone as if nothing distorted."""
    if network:
        found = explained(clues, notes, OPEN_MIDI, frets=22)
    else:
        midi = [note.midi for note in notes]
        found = explanations([clue.ways for clue in clues], midi, OPEN_MIDI, frets=22, tempered=False)
    return found[0].weights if found else (None,) * len(notes)


def _drawn(number: int) -> Guitar:
    """A guitar of the string model with strings, pick and pickup of its own."""
    random = np.random.default_rng([number, 23])
    gauge, cores = random.normal(0, 0.15), random.normal(0, 0.2)
    own = random.normal(0, 0.06, 6) + gauge + cores * np.array([0, 0, 0, 1, 1, 1])
    return replace(
        GUITARS["bright-electric"],
        stretch=tuple(float(b * np.exp(by)) for b, by in zip(ELECTRIC_STRETCH, own, strict=True)),
        pick_mm=float(random.uniform(70, 140)),
        pickup_mm=float(random.uniform(40, 150)),
    )


def _neck(
    guitar: Guitar, rows: Sequence[tuple[int, int]], number: int, condition: Condition
) -> tuple[tuple[StringClue, ...], tuple[Note, ...]]:
    """What is heard of single notes, one after another in one recording."""
    pieces: list[NDArray[np.float32]] = []
    notes: list[Note] = []
    start_s = 0.0
    for string, fret in rows:
        lick = Lick(f"neck-{number}", (Step(Fraction(2), string, fret, finger=int(fret > 0)),), tempo_bpm=100.0)
        performance = perform(lick)
        played = performance.notes[0]
        sound = render(performance, guitar, rate_hz=RATE_HZ, seed=100 * number + 23 * string + fret)
        pieces.append(recorded(sound, condition, seed=number))
        notes.append(Note(f"n{len(notes)}", start_s + played.onset_s, start_s + played.offset_s, played.midi))
        start_s += sound.size / RATE_HZ
    recording = Recording(np.concatenate(pieces), RATE_HZ)
    return string_clues(recording, notes, maps=voice_maps(recording)), tuple(notes)
