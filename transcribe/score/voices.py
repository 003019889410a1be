"""One voice or two: which notes are written together, and which ring on beside them.

Two voices are written where a note sounds on while others are struck: the higher one with stems up, the lower one with
stems down (E. Gould, "Behind Bars", Faber 2011, chapter on two-part writing; from memory). Three and more strings left
to ring one after another are written in one voice under a "let ring" mark instead (common practice of guitar music).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from transcribe.document.model import TakeNote
from transcribe.score.tones import Tone

# What still sounds in the upper and the lower voice; and what it cost to come there, with the last step.
_State = tuple[int | None, int | None]  # places in the list of sounds
_Way = tuple[float, "tuple[Sound, bool, _Way] | None"]

SECOND_VOICE = 0.25  # cost of using the lower voice where the upper one would do
CROSSED = 1.0  # cost of a higher note in the lower voice, for each moment it crosses


@dataclass(frozen=True, slots=True)
class Sound:
    """Notes that start and end together, in quarters from the first downbeat."""

    start: Fraction
    end: Fraction
    notes: tuple[TakeNote, ...]  # highest first

    @property
    def middle_midi(self) -> float:
        """Mean pitch."""
        return sum(item.note.midi for item in self.notes) / len(self.notes)


@dataclass(frozen=True, slots=True)
class Voices:
    """All sounds of a score. Within a voice none overlaps the next."""

    upper: tuple[Sound, ...]
    lower: tuple[Sound, ...]  # empty where one voice is enough
    cut: frozenset[str]  # notes that sound longer than they are written


def split_voices(tones: Sequence[Tone]) -> Voices:
    """Return the tones as one voice, or as two where notes ring under others."""
    kept: list[Tone] = []
    cut: set[str] = set()
    for cluster in _clusters(tones):
        thinned = _two_layers(cluster)
        cut |= {old.take.id for old, new in zip(cluster, thinned, strict=True) if new.end < old.end}
        kept += thinned
    upper: list[Sound] = []
    lower: list[Sound] = []
    for cluster in _clusters(kept):
        above, below = _in_two(_chords(cluster))
        upper += above
        lower += below
    return Voices(tuple(upper), tuple(lower), frozenset(cut))


def _clusters(tones: Sequence[Tone]) -> list[list[Tone]]:
    """Runs of tones bound together by overlaps; between two runs nothing sounds on."""
    found: list[list[Tone]] = []
    until: Fraction | None = None
    for tone in sorted(tones, key=lambda tone: (tone.start, -tone.take.note.midi)):
        if until is None or tone.start >= until:
            found.append([])
            until = tone.end
        found[-1].append(tone)
        until = max(until, tone.end)
    return found


def _two_layers(cluster: list[Tone]) -> list[Tone]:
    """The cluster with ends cut until no more than two layers sound at once.

    What rings by a mark is cut first; then strings struck one by one that all ring; then everything but the lowest of
    what sounds on.
    """
    if _layers(cluster) <= 2:
        return cluster
    unmarked = [_cut_at_next(tone, cluster) if tone.lets_ring else tone for tone in cluster]
    if _layers(unmarked) <= 2:
        return unmarked
    if len({tone.start for tone in cluster}) == len(cluster):
        return [_cut_at_next(tone, cluster) for tone in cluster]
    found = list(unmarked)
    for index, tone in enumerate(found):
        sounding = [other for other in found if other.start <= tone.start < other.end and other is not tone]
        lowest = all(tone.take.note.midi <= other.take.note.midi for other in sounding)
        busy = any(other.start < tone.start for other in sounding)
        if not lowest or busy:
            found[index] = _cut_at_next(tone, found)
    return found if _layers(found) <= 2 else [_cut_at_next(tone, cluster, together=True) for tone in cluster]


def _layers(tones: Iterable[Tone]) -> int:
    """How many sounds of different start or end there are at once, at the most."""
    together = {(tone.start, tone.end) for tone in tones}
    return max(sum(1 for low, high in together if low <= at < high) for at, _ in together)


def _cut_at_next(tone: Tone, tones: Sequence[Tone], *, together: bool = False) -> Tone:
    """The tone ended where the next begins; ``together``: not before the others struck with it end."""
    ends = [other.end for other in tones if other.start == tone.start] if together else [tone.end]
    return replace(tone, end=min([max(ends), *(other.start for other in tones if other.start > tone.start)]))


def _chords(tones: Sequence[Tone]) -> list[Sound]:
    """Tones of one start and end as one sound, in order of start, the higher first."""
    groups: dict[tuple[Fraction, Fraction], list[Tone]] = {}
    for tone in tones:
        groups.setdefault((tone.start, tone.end), []).append(tone)
    sounds = [
        Sound(start, end, tuple(tone.take for tone in sorted(group, key=lambda tone: -tone.take.note.midi)))
        for (start, end), group in groups.items()
    ]
    return sorted(sounds, key=lambda sound: (sound.start, -sound.middle_midi))


def _in_two(sounds: Sequence[Sound]) -> tuple[list[Sound], list[Sound]]:
    """The sounds shared out between an upper and a lower voice at the least cost.

    A state is what still sounds in each voice; the cheapest way to each is kept (dynamic programming).
    """
    best: dict[_State, _Way] = {(None, None): (0.0, None)}
    for index, sound in enumerate(sounds):
        reached: dict[_State, _Way] = {}
        for state, way in best.items():
            above, below = (each if each is not None and sounds[each].end > sound.start else None for each in state)
            for down in (False, True):
                own, other = (below, above) if down else (above, below)
                if own is not None:
                    continue
                crossed = other is not None and (sounds[other].middle_midi < sound.middle_midi) == down
                cost = way[0] + SECOND_VOICE * down + CROSSED * crossed
                now = (above, index) if down else (index, below)
                if now not in reached or cost < reached[now][0]:
                    reached[now] = (cost, (sound, down, way))
        best = reached
    upper: list[Sound] = []
    lower: list[Sound] = []
    step = min(best.values(), key=lambda way: way[0])[1]
    while step is not None:
        sound, down, before = step
        (lower if down else upper).append(sound)
        step = before[1]
    return upper[::-1], lower[::-1]
