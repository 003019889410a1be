"""Tunes and licks played: by the training room's player, and heard back from rendered sound."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from fingering import Fretboard, Passage, Pluck, solve
from transcribe.choices import TakeChoices
from transcribe.notes.note import Note
from transcribe.pipeline import draft_take
from transcribe.training.guitars import GUITARS
from transcribe.training.hand import JITTER_S, written_places
from transcribe.training.lick import Lick, Step
from transcribe.training.perform import perform
from transcribe.training.render import render
from transcribe.training.tunes import Tune

RATE_HZ = 44100
NEAR_S = 0.05  # a heard note is the written one when it starts within this, at the same pitch


def tune_lick(tune: Tune, bpm: float, seed: int = 0) -> Lick:
    """Return a tune on the strings where ``fingering`` puts it, each note held nearly to its end."""
    second = 60.0 / bpm
    line = Passage(
        tuple(
            Pluck(f"n{index}", float(place) * second + 10, float(place + length) * second + 10, midi)
            for index, (place, length, midi) in enumerate(zip(tune.places, tune.lengths, tune.midis, strict=True))
        )
    )
    placed = {placement.id: placement for placement in solve(line, Fretboard()).placements}
    steps: list[Step] = []
    at = tune.places[0]
    for index, (place, length) in enumerate(zip(tune.places, tune.lengths, strict=True)):
        if place > at:
            steps.append(Step(place - at))
        where = placed[f"n{index}"]
        steps.append(Step(length, where.string, where.fret, where.finger or 0, held=0.92))
        at = place + length
    return Lick(tune.name.replace("/", "-"), tuple(steps), bpm, tune.meter, tune.pickup, seed=seed)


def heard_notes(tune: Tune, bpm: float, folder: Path) -> tuple[tuple[Note, ...], tuple[Fraction | None, ...]]:
    """Return what is heard of a tune rendered on the string model, and the written place of each heard note."""
    import soundfile

    played = perform(tune_lick(tune, bpm), jitter_s=JITTER_S)
    path = folder / "tune.wav"
    soundfile.write(path, render(played, GUITARS["bright-electric"], rate_hz=RATE_HZ), RATE_HZ)
    heard = tuple(item.note for item in draft_take(path, TakeChoices()).notes)
    places = written_places(played)
    left = list(range(len(places)))
    found: list[Fraction | None] = []
    for note in heard:
        near = [
            index
            for index in left
            if abs(played.notes[index].onset_s - note.onset_s) <= NEAR_S and played.notes[index].midi == note.midi
        ]
        found.append(places[near[0]] if near else None)
        left = [index for index in left if index not in near[:1]]
    return heard, tuple(found)
